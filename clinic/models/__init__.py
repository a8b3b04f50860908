"""The practice's rows, one concept a file."""

from clinic.models.equipment import Equipment, EquipmentKind, OpeningReading, OutOfService, ReturnToService
from clinic.models.incidents import Incident, IncidentReview
from clinic.models.organisation import (
    Closure,
    KeptElsewhere,
    Organisation,
    Paper,
    Site,
    SiteFact,
    SiteFactValue,
    SiteSetting,
)
from clinic.models.people import (
    Absence,
    Account,
    Appointment,
    Invitation,
    JobRole,
    OutsideWitness,
    Person,
    Post,
    RoleHeld,
    SigningAttempt,
)
from clinic.models.records import Change, Fact, FactPart, FactQuerySet, Seal, Voiding
from clinic.models.upkeep import FollowUp, FollowUpClosed, TaskSetting, UpkeepEntry, UpkeepTask, Use

__all__ = [
    "Absence",
    "Account",
    "Appointment",
    "Change",
    "Closure",
    "Equipment",
    "EquipmentKind",
    "Fact",
    "FactPart",
    "FactQuerySet",
    "FollowUp",
    "FollowUpClosed",
    "Incident",
    "IncidentReview",
    "Invitation",
    "JobRole",
    "KeptElsewhere",
    "OpeningReading",
    "Organisation",
    "OutOfService",
    "OutsideWitness",
    "Paper",
    "Person",
    "Post",
    "ReturnToService",
    "RoleHeld",
    "Seal",
    "SigningAttempt",
    "Site",
    "SiteFact",
    "SiteFactValue",
    "SiteSetting",
    "TaskSetting",
    "UpkeepEntry",
    "UpkeepTask",
    "Use",
    "Voiding",
]
