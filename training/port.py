"""What training answers the clinic: each by the name under which `clinic.port` asks it."""

from training.reads.consequences import what_ends_meanwhile, what_falls_without
from training.reads.new_hazards import to_teach
from training.reads.procedure_said import procedure_on, roles_of
from training.reads.standing import usable_on_days, usable_people, usable_within
from training.reads.watched import watched_tightening


class Answers:
    """Put in at the start (`training.apps`)."""

    procedure_on = staticmethod(procedure_on)
    roles_of = staticmethod(roles_of)
    to_teach = staticmethod(to_teach)
    usable_on_days = staticmethod(usable_on_days)
    usable_people = staticmethod(usable_people)
    usable_within = staticmethod(usable_within)
    watched_tightening = staticmethod(watched_tightening)
    what_ends_meanwhile = staticmethod(what_ends_meanwhile)
    what_falls_without = staticmethod(what_falls_without)
