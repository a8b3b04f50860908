"""A draft as its pages show it: what stands in its way, and what it changes against the text in force."""

import re
from dataclasses import dataclass

from clinic.models import SiteFact, UpkeepTask
from clinic.record import Refusal
from clinic.rules.words import begun
from training import gather
from training.models import Draft, Procedure, Version
from training.rules.changes import ChangeKind, StepChange, WordsPiece, part_changes, question_changes, step_changes
from training.rules.content import content_faults
from training.rules.place import names_in
from training.rules.policy import cycle_faults, policy_faults
from training.rules.policy_wording import policy_changes, policy_rows
from training.rules.step_order import order_warnings
from training.rules.texts import Content, content_from_json, policy_from_json

NUMBERED = re.compile(r"(\d+)$")


@dataclass(frozen=True, slots=True)
class Changes:
    """Everything that differs from the newest approved text; against nothing where none was ever approved."""

    against: Version | None
    steps: list[StepChange]
    parts: list[tuple[str, tuple[WordsPiece, ...]]]
    questions: list[tuple[ChangeKind, str]]
    policy: list[tuple[str, str, str]]

    @property
    def changed_steps(self) -> list[StepChange]:
        return [step for step in self.steps if step.is_change]

    @property
    def count(self) -> int:
        return len(self.changed_steps) + len(self.parts) + len(self.questions) + len(self.policy)


def changes_of(draft: Draft) -> Changes:
    against, after = newest(draft.procedure), content_from_json(draft.content)
    before = against.text if against else Content(purpose="")
    names = titles_of(draft.procedure)
    is_topic, policy = draft.procedure.is_topic, policy_from_json(draft.policy)
    rows = policy_rows(policy, is_topic=is_topic, names=names)
    asked = (
        policy_changes(against.asks, policy, is_topic=is_topic, names=names)
        if against
        else [(part, "", words) for part, words in rows]
    )
    return Changes(
        against, step_changes(before.steps, after.steps), part_changes(before, after),
        question_changes(before.questions, after.questions), asked,
    )  # fmt: skip


def titles_of(procedure: Procedure) -> dict[str, str]:
    rows = Procedure.objects.of(procedure.organisation).values_list("code", "title")
    return dict(rows) | dict(UpkeepTask.objects.values_list("code", "title"))


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing in the way of a draft, and what would clear it."""

    says: str
    supply: str
    there: bool = False


def in_the_way(draft: Draft) -> list[Missing]:
    return [Missing(refusal.says, refusal.supply) for refusal in faults(draft)]


def out_of_order(draft: Draft) -> list[tuple[str, str]]:
    """Where its steps leave the order that is safe, as (law, sentence). It warns and forbids nothing: the maker’s
    instructions win."""
    return order_warnings(content_from_json(draft.content).steps)


def next_key(draft: Draft, what: str, letter: str) -> str:
    """A key that no version and no draft of the procedure ever used: a new step is never taken for an old one."""
    texts = [draft.content, *Version.objects.filter(procedure=draft.procedure).values_list("content", flat=True)]
    used = [int(found[1]) for text in texts for each in text[what] if (found := NUMBERED.search(each["key"]))]
    return f"{letter}{max(used, default=0) + 1:02d}"


def newest(procedure: Procedure) -> Version | None:
    return Version.objects.live().filter(procedure=procedure).order_by("-number").first()


def faults(draft: Draft) -> list[Refusal]:
    """Everything that makes the draft impossible or silly to approve, at once."""
    content, policy = content_from_json(draft.content), policy_from_json(draft.policy)
    code = draft.procedure.code
    found = [Refusal(begun(says)) for says in [*content_faults(content), *policy_faults(policy, content)]]
    program = gather.programme(draft.procedure.organisation)
    edges = {(p.code, needed) for p in program.values() for v in p.versions for needed in v.policy.prerequisites}
    unknown = [needed for needed in policy.prerequisites if needed not in program]
    found += [
        Refusal(f"Prerequisite {needed} is not in this practice.", "Take it out, or load it first.")
        for needed in unknown
    ]
    found += [
        Refusal(begun(says)) for says in cycle_faults(edges | {(code, needed) for needed in policy.prerequisites})
    ]
    found += [
        Refusal(says, "Define it with the walk round, or correct the name.") for says in unknown_site_facts(content)
    ]
    if newest(draft.procedure) and not draft.change_note:
        found.append(Refusal("What changed is not said.", "Write a change note in a sentence.", "change_note"))
    return found


def unknown_site_facts(content: Content) -> list[str]:
    """Names in braces that the walk round does not ask for."""
    texts = [content.purpose, content.note, *content.contents]
    texts += [text for step in content.steps for text in (step.when, step.do, step.caution)]
    named = {name for text in texts for name in names_in(text)}
    known = set(SiteFact.objects.values_list("name", flat=True))
    return [f"Site fact {{{name}}} is not defined." for name in sorted(named - known)]
