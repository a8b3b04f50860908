"""The site, its people's accounts, its events and chemicals, and changes of what the register knows, in words."""

from datetime import date
from typing import Any

from django.apps import apps
from django.db.models import Field, ForeignKey

from clinic.models import (
    AccountRecovery,
    Change,
    ChemicalGone,
    ChemicalListed,
    Closure,
    FactorChange,
    Incident,
    IncidentReview,
    KeptElsewhere,
    LegalHold,
    Purged,
    Safeguard,
    SiteFactValue,
    SiteSetting,
    Voiding,
)
from clinic.rules.ids import is_id
from clinic.rules.site_text import NOT_USED
from clinic.rules.words import begun, counted, day_words, ended, listed
from training.reads.fact_words.parts import (
    FactWords,
    Sentence,
    at_site,
    fact_link,
    from_day,
    labelled,
    name_of,
    named_fact,
    on_day,
    plain,
    say,
    section,
    sentences,
    unit,
    who,
    words_of,
    writes,
)

NOTHING = "nothing"


@writes(Voiding, "taking back")
def voiding(fact: Voiding) -> FactWords:
    wrong = named_fact(fact.corrects)
    what = f"{begun(name_of(wrong))} of {day_words(wrong.happened_on)}" if wrong else "Something"
    return FactWords(
        say(f"{what} was taken back ", on_day(fact)),
        sentences(
            say("It had said: ", fact_link(wrong, plain(words_of(wrong).head)), ".") if wrong else None,
            "It stays to be read, and counts for nothing.",
        ),
    )


@writes(Change, "change")
def change(fact: Change) -> FactWords:
    return FactWords(
        say(f"{ended(fact.said).removesuffix('.')}, ", on_day(fact).removeprefix("on ")),
        [],
        section("What changed", changes(fact)),
    )


def changes(fact: Change) -> list[Sentence | str]:
    """Each column that is another now: what it was, and what it is."""
    fields = fields_of(fact.about)
    found: list[Sentence | str] = []
    for name in [*fact.before, *(name for name in fact.after if name not in fact.before)]:
        was, now = (in_words(fields.get(name), side.get(name)) for side in (fact.before, fact.after))
        label = begun(str(getattr(fields.get(name), "verbose_name", name)).replace("_", " "))
        if not fact.before or not fact.after:
            side = now if fact.after else was
            found += [f"{label}: {side}"] if side != NOTHING else []
        elif was != now:
            found.append(f"{label}: {was} before, {now} from then on")
    return found


def fields_of(about: str) -> "dict[str, Field[Any, Any]]":
    try:
        model = apps.get_model(about)
    except (LookupError, ValueError):
        return {}
    return {key: field for field in model._meta.concrete_fields for key in (field.name, field.attname)}


def in_words(field: "Field[Any, Any] | None", value: Any) -> str:
    """A stored value as people say it: a name instead of a key, a day instead of its figures."""
    if value in (None, "", [], {}):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return listed([in_words(field, each) for each in value])
    if isinstance(value, dict):
        return listed([f"{begun(key.replace('_', ' '))} {in_words(None, part)}" for key, part in value.items()])
    if isinstance(field, ForeignKey) and (is_id(str(value)) or str(value).isdecimal()):
        row = field.remote_field.model._default_manager.filter(pk=value).first()  # type: ignore[union-attr]
        return str(row) if row else "a row that is not here"
    if field is not None and field.choices:
        return str(dict(field.flatchoices).get(value, value))  # type: ignore[attr-defined]
    return day_or_words(str(value))


def day_or_words(text: str) -> str:
    try:
        return day_words(date.fromisoformat(text)) if len(text) == 10 else text
    except ValueError:
        return text


@writes(SiteSetting, "setting of the site")
def site_setting(fact: SiteSetting) -> FactWords:
    about = f" for {fact.about}" if fact.about else ""
    return FactWords(
        say(f"{fact.get_name_display()}: {fact.value}{about}, {from_day(fact)}"),
        sentences(f"It holds at {fact.site} until it is set anew.", labelled("Source", fact.source)),
    )


@writes(SiteFactValue, "site fact")
def site_fact(fact: SiteFactValue) -> FactWords:
    name = begun(fact.site_fact.name)
    answer = NOT_USED if fact.not_used else f"“{fact.value}”"
    return FactWords(
        say(f"{name} of {fact.equipment or fact.site}: {answer}, written down ", on_day(fact)),
        sentences(
            say("It stands in the steps of every procedure that names it, for ", unit(fact.equipment, str(fact.site)), "."),
            labelled("What was asked", begun(fact.site_fact.ask)),
        ),
    )  # fmt: skip


@writes(KeptElsewhere, "paper kept elsewhere")
def kept_elsewhere(fact: KeptElsewhere) -> FactWords:
    reviewed = (
        f"It was last reviewed on {day_words(fact.last_review)}." if fact.last_review else "No review of it is noted."
    )
    return FactWords(
        say(f"{fact.what} is kept outside this register, as noted ", on_day(fact)),
        sentences(labelled("Place", fact.place), labelled("Kept by", fact.keeper), reviewed),
    )


@writes(Closure, "closure of the site")
def closure(fact: Closure) -> FactWords:
    days = (fact.after - fact.first).days
    last = date.fromordinal(fact.after.toordinal() - 1)
    when = f"on {day_words(fact.first)}" if days == 1 else f"from {day_words(fact.first)} through {day_words(last)}"
    return FactWords(
        say(f"{fact.site} is closed {when}"),
        sentences(
            f"The clocks of upkeep stand still for {counted(days, 'day')}, but for those that only a pass moves.",
            say("Entered ", on_day(fact), "."),
            labelled("Why", fact.reason),
        ),
    )


@writes(AccountRecovery, "recovery of an account")
def recovery(fact: AccountRecovery) -> FactWords:
    steps = {
        AccountRecovery.Step.ASKED: "It was asked that the account of {} be opened anew",
        AccountRecovery.Step.CONFIRMED: "It was confirmed that the account of {} is opened anew",
        AccountRecovery.Step.USED: "{} chose a new password with the code",
    }
    return FactWords(
        say(f"{steps[AccountRecovery.Step(fact.step)].format(fact.person)}, ", on_day(fact)),
        sentences(
            say("It follows ", fact_link(fact.asking, f"what was asked on {day_words(fact.asking.happened_on)}"), ".")
            if fact.asking
            else None,
            "The second factor was lost too, and ends with the use of the code." if fact.factor_lost else None,
            f"The code went out {fact.get_way_display()}." if fact.way else None,
            labelled("How whoever confirmed was proved", fact.proved),
            labelled("How it was checked who asks", fact.reason),
        ),
    )


@writes(FactorChange, "change of a second factor")
def factor_change(fact: FactorChange) -> FactWords:
    which = " ".join(
        filter(None, (fact.get_kind_display() if fact.kind else "", f"“{fact.label}”" if fact.label else ""))
    )
    did = {
        FactorChange.What.ADDED: f"A second factor was added to the account of {fact.person}",
        FactorChange.What.REMOVED: f"A second factor of the account of {fact.person} was removed",
        FactorChange.What.CODES_MADE: f"Recovery codes were made for the account of {fact.person}",
        FactorChange.What.CODE_USED: f"A recovery code of the account of {fact.person} was used",
    }[FactorChange.What(fact.what)]
    added = named_fact(fact.factor)
    return FactWords(
        say(f"{did}, ", on_day(fact)),
        sentences(
            labelled("Which", which),
            say("It had been added with ", fact_link(added), ".") if added else None,
            labelled("Fingerprint", fact.fingerprint),
            labelled("Why", fact.reason),
        ),
    )


@writes(Incident, "event")
def incident(fact: Incident) -> FactWords:
    return FactWords(
        say(f"{fact.get_kind_display()}: {fact.place}, ", on_day(fact)),
        sentences(
            labelled("How it happened", fact.how),
            labelled("The item", fact.item),
            labelled("Contaminated", fact.get_contaminated_display().lower() if fact.contaminated else ""),
            say("It happened at ", unit(fact.equipment), ".") if fact.equipment else None,
            labelled("In the procedure", fact.procedure_code),
            f"The practice learned of it on {at_site(fact.learned_at, fact)}." if fact.learned_at else None,
            "Whoever was hurt was sent to the named clinician or to urgent care." if fact.referred else None,
        ),
        section("What was looked at since", [say(fact_link(row)) for row in fact.reviews.all()]),
    )


@writes(IncidentReview, "review of an event")
def incident_review(fact: IncidentReview) -> FactWords:
    return FactWords(
        say("The procedure and the place were looked at after an event, ", on_day(fact)),
        sentences(
            say("It follows ", fact_link(fact.incident), "."),
            labelled("What was looked at", fact.looked_at),
            labelled("What was changed", fact.changed),
            labelled("What it came from", listed(fact.causes)),
        ),
    )


@writes(Safeguard, "copy or restore drill")
def safeguard(fact: Safeguard) -> FactWords:
    backup = fact.kind == Safeguard.Kind.BACKUP
    came_to = {
        (True, True): "A complete copy of the register was made",
        (True, False): "A copy of the register was made, and is not complete",
        (False, True): "A copy was restored on trial, and every seal of it was whole",
        (False, False): "A copy was restored on trial, and not all of it was whole",
    }[backup, fact.good]
    return FactWords(
        say(f"{came_to}, ", on_day(fact)),
        sentences(
            say("Done by ", who(fact.done_by), "."),
            labelled("Where the copy is" if backup else "What the drill found", fact.said),
        ),
    )


@writes(ChemicalListed, "product on the list of chemicals")
def chemical_listed(fact: ChemicalListed) -> FactWords:
    gone = ChemicalGone.objects.live().filter(listed=fact).first()
    return FactWords(
        say(f"{fact.product} is on the list of chemicals {from_day(fact)}"),
        sentences(
            labelled("Place", fact.place),
            labelled("Hazard classes", listed(fact.hazard_classes) or "none"),
            f"Its safety data sheet is of {day_words(fact.sheet_revision)}.",
            say("It is gone since ", fact_link(gone, day_words(gone.happened_on)), ".") if gone else None,
        ),
    )


@writes(ChemicalGone, "product taken off the list")
def chemical_gone(fact: ChemicalGone) -> FactWords:
    return FactWords(
        say(f"{fact.listed.product} is no longer on the list of chemicals, {from_day(fact)}"),
        sentences(say("It had been listed with ", fact_link(fact.listed), ".")),
    )


@writes(LegalHold, "legal hold")
def legal_hold(fact: LegalHold) -> FactWords:
    return FactWords(
        say(f"A legal hold stands at {fact.site} {from_day(fact)}: nothing is purged"),
        sentences(labelled("What for", fact.said), "It stands until it is taken back."),
    )


@writes(Purged, "purge")
def purged(fact: Purged) -> FactWords:
    return FactWords(
        say(
            f"The contents of {counted(len(fact.contents), 'record')} were taken away after their period, ",
            on_day(fact),
        ),
        sentences(
            labelled("What they were", fact.what),
            labelled("How long they had to be kept", fact.rule),
            f"The last of them had to be there through {day_words(fact.kept_through)}.",
            "Their seals stay in the log, and this says what each had sealed.",
        ),
        section("The digest of what each said", [f"{key}: {digest}" for key, digest in sorted(fact.contents.items())]),
    )
