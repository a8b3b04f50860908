"""The practice's rows, one concept a file."""

from clinic.models.accounts import Account, AccountRecovery, Invitation, KnownDevice, SigningAttempt, TryCount
from clinic.models.blocks import BlockLot, FactorEntered
from clinic.models.chemicals import ChemicalGone, ChemicalListed
from clinic.models.drivers import DriverDetails, ReferenceDetails, Verification
from clinic.models.equipment import Equipment, EquipmentKind, OpeningReading, OutOfService, ReturnToService
from clinic.models.factors import FactorChange, FactorKind, RecoveryCode, SecondFactor, SignedIn
from clinic.models.incidents import Incident, IncidentReview
from clinic.models.jobs import JobEnded, JobStarted, SetLine
from clinic.models.organisation import (
    Closure,
    KeptElsewhere,
    Organisation,
    PaperSize,
    Site,
    SiteFact,
    SiteFactValue,
    SiteSetting,
)
from clinic.models.people import Absence, Appointment, JobRole, OutsideWitness, Person, Post, RoleHeld
from clinic.models.pins import Pin
from clinic.models.purges import LegalHold, Purged
from clinic.models.records import Change, Fact, FactPart, FactQuerySet, Seal, SealShape, Voiding
from clinic.models.safeguards import Safeguard
from clinic.models.sterilisers import LoadReleased, SteriliserEvent
from clinic.models.stock import StockLine, StockMoved, UnitMessage
from clinic.models.tools import MakersPair, MillingTool, ToolMounted, ToolRemoved
from clinic.models.upkeep import EntryPhoto, FollowUp, ResultRead, TaskSetting, UpkeepEntry, UpkeepTask, Use
from clinic.models.water import CoolantBands, UnitChanged, WaterLimit

__all__ = [
    "Absence",
    "Account",
    "AccountRecovery",
    "Appointment",
    "BlockLot",
    "Change",
    "ChemicalGone",
    "ChemicalListed",
    "Closure",
    "CoolantBands",
    "DriverDetails",
    "EntryPhoto",
    "Equipment",
    "EquipmentKind",
    "Fact",
    "FactPart",
    "FactQuerySet",
    "FactorChange",
    "FactorEntered",
    "FactorKind",
    "FollowUp",
    "Incident",
    "IncidentReview",
    "Invitation",
    "JobEnded",
    "JobRole",
    "JobStarted",
    "KeptElsewhere",
    "KnownDevice",
    "LegalHold",
    "LoadReleased",
    "MakersPair",
    "MillingTool",
    "OpeningReading",
    "Organisation",
    "OutOfService",
    "OutsideWitness",
    "PaperSize",
    "Person",
    "Pin",
    "Post",
    "Purged",
    "RecoveryCode",
    "ReferenceDetails",
    "ResultRead",
    "ReturnToService",
    "RoleHeld",
    "Safeguard",
    "Seal",
    "SealShape",
    "SecondFactor",
    "SetLine",
    "SignedIn",
    "SigningAttempt",
    "Site",
    "SiteFact",
    "SiteFactValue",
    "SiteSetting",
    "SteriliserEvent",
    "StockLine",
    "StockMoved",
    "TaskSetting",
    "ToolMounted",
    "ToolRemoved",
    "TryCount",
    "UnitChanged",
    "UnitMessage",
    "UpkeepEntry",
    "UpkeepTask",
    "Use",
    "Verification",
    "Voiding",
    "WaterLimit",
]
