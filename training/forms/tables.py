"""A table that is signed: its lines, and who says so, proved again."""

from typing import Any

from clinic import clock
from clinic.forms.tables import TableForm
from training.actions.proof import Proved
from training.forms.signing import Proof

NOT_YET = "not proved: a trial"


class SignedTableForm(TableForm, Proof):
    """What is only tried is signed by nobody: the trial is taken back, and its mark with it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.table.proof = Proved(NOT_YET, clock.now())

    def not_proved_yet(self) -> None:
        for name in ("sign_in_name", "password"):
            self.fields[name].required = False
