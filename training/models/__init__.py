"""The program's rows, one concept a file."""

from training.models.finding_spans import FindingsKept, FindingSpan
from training.models.findings import CorrectiveAction
from training.models.issued import BinderJob, InspectorPass, Issue, PackPart, PassUsed
from training.models.observations import (
    Attendance,
    CriticalMissAnswer,
    IndependentMarking,
    KnowledgeResult,
    Observation,
    SessionTopic,
    TalkedThrough,
    TaughtSession,
)
from training.models.pictures import PlacePhoto
from training.models.procedures import Draft, InstructionsCheck, Procedure, Retirement, Version
from training.models.requirements import Requirement
from training.models.sheets import SheetEntered, SheetPhoto, SheetsPrinted
from training.models.signoffs import Authority, CarriedOver, FoundingGrant, Signature, SignOff, Withdrawal
from training.models.spans_waiting import SpansWaiting
from training.models.standing import EvidenceSpan, StandingSpan

__all__ = [
    "Attendance",
    "Authority",
    "BinderJob",
    "CarriedOver",
    "CorrectiveAction",
    "CriticalMissAnswer",
    "Draft",
    "EvidenceSpan",
    "FindingSpan",
    "FindingsKept",
    "FoundingGrant",
    "IndependentMarking",
    "InspectorPass",
    "InstructionsCheck",
    "Issue",
    "KnowledgeResult",
    "Observation",
    "PackPart",
    "PassUsed",
    "PlacePhoto",
    "Procedure",
    "Requirement",
    "Retirement",
    "SessionTopic",
    "SheetEntered",
    "SheetPhoto",
    "SheetsPrinted",
    "SignOff",
    "Signature",
    "SpansWaiting",
    "StandingSpan",
    "TalkedThrough",
    "TaughtSession",
    "Version",
    "Withdrawal",
]
