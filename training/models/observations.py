"""What was seen, tried and taught."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import models
from django.db.models import Q

from clinic.models import Equipment, Fact, FactPart, OutsideWitness, Person
from clinic.rules.words import begun
from training.models.procedures import Version
from training.rules.facts import Method, Outcome
from training.rules.sessions import SessionRecord, missing


def choices(words: type[Method] | type[Outcome]) -> list[tuple[str, str]]:
    return [(word.value, begun(word.value)) for word in words]


class Observation(Fact):
    """Somebody with authority, or an outside witness, watched one performance and marked each step.

    `marks` is a list of {"step": key, "mark": word} in the order of the steps; outcome and critical miss are computed
    from it by `training.rules.outcome` when it is recorded. One performance marked against several procedures is one
    observation each, with the same `performance`.
    """

    class Purpose(models.TextChoices):
        PRACTICE = "practice", "Practice"
        ASSESSMENT = "assessment", "Assessment"

    class OwnWord(models.TextChoices):
        READY = "ready", "Ready to work alone"
        MORE = "more", "Want more practice"
        DISAGREE = "disagree", "I see it differently"

    performance = models.UUIDField(db_index=True)
    version = models.ForeignKey(Version, models.PROTECT, related_name="observations")
    person = models.ForeignKey(Person, models.PROTECT, related_name="observed")
    observer = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="watched")
    witness = models.ForeignKey(OutsideWitness, models.PROTECT, null=True, blank=True, related_name="watched")
    sheet = models.ForeignKey(
        "training.SheetEntered",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="confirmed_as",
        db_comment="The sheet of paper that it was entered from, confirmed by whoever watched",
    )
    equipment = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="+")
    purpose = models.CharField(max_length=12, choices=Purpose)
    method = models.CharField(max_length=12, choices=choices(Method))
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField()
    pauses = models.JSONField(default=list, db_comment="List of {from, to, why}")
    marks = models.JSONField()
    stopped = models.BooleanField(default=False, db_comment="Stop: unsafe")
    stop_reason = models.TextField(blank=True)
    notes = models.TextField(blank=True)
    language = models.CharField(max_length=20, blank=True)
    own_word = models.CharField(max_length=10, choices=OwnWord, blank=True)
    own_words = models.TextField(blank=True, db_comment="What the trainee says of it")
    outcome = models.CharField(max_length=12, choices=choices(Outcome))
    critical_miss = models.BooleanField(default=False)

    class Meta:
        indexes = [
            models.Index(fields=["person", "happened_on"], name="observation_person"),
            models.Index(fields=["observer", "happened_on"], name="observation_observer"),
            models.Index(fields=["site"], condition=Q(critical_miss=True), name="observation_missed"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(observer__isnull=True) ^ Q(witness__isnull=True), name="observation_watched_by_one"
            ),
            models.CheckConstraint(
                condition=Q(observer__isnull=True) | ~Q(observer=models.F("person")), name="observation_not_of_oneself"
            ),
            models.CheckConstraint(condition=Q(stopped=False) | ~Q(stop_reason=""), name="observation_stop_has_reason"),
        ]


class IndependentMarking(Fact):
    """A second supervisor marked the same performance without seeing the first marks. Only for judging agreement."""

    observation = models.ForeignKey(Observation, models.PROTECT, related_name="independent_markings")
    marker = models.ForeignKey(Person, models.PROTECT, related_name="+")
    marks = models.JSONField()


class CriticalMissAnswer(Fact):
    """Why a usable person's critical miss did not end the sign-off. (The other answer is a withdrawal.)"""

    observation = models.ForeignKey(Observation, models.PROTECT, related_name="miss_answers")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="critical_miss_answer_has_reason")]


class KnowledgeResult(Fact):
    """One person's attempt at the knowledge check of a version."""

    version = models.ForeignKey(Version, models.PROTECT, related_name="results")
    person = models.ForeignKey(Person, models.PROTECT, related_name="results")
    asked = models.JSONField(db_comment="List of {key, options as shown}")
    answers = models.JSONField(db_comment="Question key to the option chosen, in its words")
    passed = models.BooleanField()
    language = models.CharField(max_length=20, blank=True)

    class Meta:
        indexes = [models.Index(fields=["person", "happened_on"], name="result_person")]


class TalkedThrough(Fact):
    """After two failed tries on one day, somebody with authority talked the check through before the third."""

    version = models.ForeignKey(Version, models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, models.PROTECT, related_name="talks")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class TaughtSession(Fact):
    """A session in which topics were taught. Countable only with every part of the common record (O-04, O-05)."""

    days = models.JSONField(default=list, db_comment="Every day of the session, ISO; happened_on is the last")
    summary = models.TextField(blank=True)
    trainer = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="sessions_given")
    trainer_name = models.CharField(max_length=120, blank=True)
    trainer_qualification = models.CharField(max_length=200, blank=True)
    live_questions = models.BooleanField(null=True)
    demonstrated = models.BooleanField(null=True, db_comment="Protective equipment: understanding shown (O-20)")
    language = models.CharField(max_length=20, blank=True)
    handed_out = models.TextField(blank=True)
    demonstration = models.TextField(
        blank=True, default="", db_comment="What was demonstrated, and on what; it may be left out"
    )
    extra = models.BooleanField(
        default=False, db_comment="Covers only what is new; the yearly day does not move (O-03)"
    )

    sealed_children = ("topics", "attendances")

    @property
    def missing_fields(self) -> list[str]:
        """What its record still lacks, in words: while anything does, it counts for nobody."""
        attended = [(row.job_title, row.person.printed_name) for row in self.attendances.all()]
        return self.lacks(
            attended, [source for topic in self.topics.all() for source in topic.version.content["sources"]]
        )

    def lacks(self, attended: Sequence[tuple[str, str]], sources: Iterable[Mapping[str, Any]]) -> list[str]:
        """The same of a session whose parts are read: the job title and the name of each, and what the topics rest on."""
        return missing(
            SessionRecord(
                days=self.days,
                summary=self.summary,
                trainer=self.trainer_name,
                qualification=self.trainer_qualification,
                language=self.language,
                handed_out=self.handed_out,
                live_questions=self.live_questions,
                demonstrated=self.demonstrated,
                attended=len(attended),
                untitled=[name for title, name in attended if not title],
                sources=[source["row"] for source in sources],
            )
        )


class SessionTopic(FactPart):
    session = models.ForeignKey(TaughtSession, models.PROTECT, related_name="topics")
    version = models.ForeignKey(Version, models.PROTECT, related_name="sessions")


class Attendance(FactPart):
    """Somebody attended, with the job title held on that day."""

    session = models.ForeignKey(TaughtSession, models.PROTECT, related_name="attendances")
    person = models.ForeignKey(Person, models.PROTECT, related_name="attendances")
    job_title = models.CharField(max_length=160, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["session", "person"], name="attendance_once")]
