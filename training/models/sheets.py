"""Paper for the day the network is down: numbered sheets, and what was written on them, entered later."""

from django.db import models
from django.db.models import Q

from clinic.models import Equipment, Fact, OutsideWitness, Person
from training.models.observations import Observation, choices
from training.models.procedures import Version
from training.rules.facts import Method
from training.rules.sheets import sheet_words


class SheetsPrinted(Fact):
    """Blank checklists of one version, printed for one unit or for any of its kind. Each sheet has a number of its own."""

    version = models.ForeignKey(Version, models.PROTECT, related_name="+")
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="+")
    first = models.PositiveIntegerField(db_comment="Number on the first sheet; they run on from it")
    count = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "first"], name="sheets_numbered_once"),
            models.CheckConstraint(condition=Q(count__gt=0), name="sheets_printed_some"),
        ]

    def __str__(self) -> str:
        last = self.first + self.count - 1
        return sheet_words(self.first) if self.count == 1 else f"sheets {self.first:04} to {last:04}"

    @property
    def numbers(self) -> range:
        return range(self.first, self.first + self.count)


class SheetEntered(Fact):
    """What somebody says stands on a sheet: entered by them, in nobody else's name. It counts for nothing until whoever
    watched confirms it; then an `Observation` names it as its sheet.

    An outside witness signs on paper only and has no account to confirm by. So a sheet of theirs keeps its photo, and
    somebody with authority, who neither did the work nor entered the sheet, compares the two and confirms.

    The columns are those of an observation; `happened_on` and `happened_at` are the end of the work, as written there.
    """

    printed = models.ForeignKey(SheetsPrinted, models.PROTECT, related_name="entered")
    number = models.PositiveIntegerField()
    version = models.ForeignKey(Version, models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, models.PROTECT, related_name="on_sheets")
    observer = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="said_to_have_watched")
    witness = models.ForeignKey(OutsideWitness, models.PROTECT, null=True, blank=True, related_name="on_sheets")
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="+")
    purpose = models.CharField(max_length=12, choices=Observation.Purpose)
    method = models.CharField(max_length=12, choices=choices(Method))
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField()
    marks = models.JSONField()
    stopped = models.BooleanField(default=False, db_comment="Stop: unsafe")
    stop_reason = models.TextField(blank=True)
    notes = models.TextField(blank=True)
    identity_checked = models.CharField(
        max_length=200, blank=True, db_comment="How it was checked who the one watched is, as the sheet says"
    )
    language = models.CharField(max_length=20, blank=True)
    own_word = models.CharField(max_length=10, choices=Observation.OwnWord, blank=True)
    own_words = models.TextField(blank=True, db_comment="What the trainee says of it")

    class Meta:
        indexes = [models.Index(fields=["site", "number"], name="sheet_entered_number")]
        constraints = [
            models.CheckConstraint(
                condition=Q(observer__isnull=True) ^ Q(witness__isnull=True), name="sheet_watched_by_one"
            ),
            models.CheckConstraint(
                condition=Q(observer__isnull=True) | ~Q(observer=models.F("person")), name="sheet_not_of_oneself"
            ),
        ]

    def __str__(self) -> str:
        return sheet_words(self.number)

    @property
    def watched_by(self) -> str:
        """Whoever is said to have watched, in words."""
        return str(self.observer) if self.observer else f"{self.witness}, outside witness"


class SheetPhoto(Fact):
    """The sheet itself: a JPEG of the register's own making. The seal covers its digest, and so every byte of it."""

    by_digest = ("picture",)

    sheet = models.ForeignKey(SheetEntered, models.PROTECT, related_name="photos")
    picture = models.BinaryField()
