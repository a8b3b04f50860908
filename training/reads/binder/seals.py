"""The check of the seals that a binder runs while it is made, over what it holds and everything sealed before that."""

from dataclasses import dataclass

from clinic import clock
from clinic.models import Seal, Site
from clinic.prepared import Prepared
from clinic.rules.words import counted
from clinic.sealed_rows import of_key
from clinic.seals import Break, check_site
from training.reads.binder.asked import BinderAsked


@dataclass(frozen=True, slots=True)
class SealsRead:
    """What the check found. `facts`: ids that the binder rests on; `unsealed`: those of them that no seal names; `elsewhere`:
    how many of them other sites of the organisation sealed. `day`: when it was run."""

    site: Site
    made_at: str
    facts: frozenset[str]
    elsewhere: int
    unsealed: int
    breaks: tuple[Break, ...]

    @property
    def broken_here(self) -> int:
        """Facts of the binder that do not hold."""
        return len({each.fact for each in self.breaks} & self.facts) + self.unsealed

    @property
    def is_whole(self) -> bool:
        return not self.breaks and not self.unsealed

    @property
    def day(self) -> str:
        return self.made_at[:10]

    def says(self, last: str) -> list[str]:
        """The sentences of the binder. `last`: when the newest seal was made, site time."""
        if not self.site.last_position:
            return ["Nothing is recorded yet."]
        here, place = len(self.facts) - self.elsewhere - self.unsealed, self.site.last_position
        others = (
            f", and on {counted(self.elsewhere, 'fact')} of the organisation\u2019s other sites"
            if self.elsewhere
            else ""
        )
        return [
            f"This binder rests on {here:,} of the {counted(place, 'fact')} in the register of this site{others}.",
            self.found,
            f"The last seal when it was made: place {place:,}, {self.site.last_digest}, recorded {last}.",
        ]

    @property
    def found(self) -> str:
        when = self.made_at.replace("T", " at ")
        run = f"While it was made, {when}, every seal was worked out again from the rows as they stand"
        if self.is_whole:
            return f"{run}: each one holds, those that this binder rests on among them."
        first = f" The first: place {self.breaks[0].position:,}, {self.breaks[0].says}." if self.breaks else ""
        bare = (
            f" {counted(self.unsealed, 'fact')} that it rests on {'has' if self.unsealed == 1 else 'have'} no seal."
            if self.unsealed
            else ""
        )
        return (
            f"{run}: {counted(len(self.breaks), 'break')}, and {counted(self.broken_here, 'fact')} of this binder "
            f"{'does' if self.broken_here == 1 else 'do'} not hold.{first}{bare}"
        )


SEALED = Prepared(
    lambda organisation: Seal.objects.filter(site__organisation__in=organisation).values_list("fact", "site")
)


def check_seals_of(asked: BinderAsked) -> SealsRead:
    """Every seal of the site, and of the other sites whose facts the binder rests on."""
    sealed = SEALED.raw(organisation=[asked.site.organisation_id])
    named = {key: site for fact, site in sealed if (key := of_key(fact)[1:-1]) in asked.facts}
    sites = {asked.site.pk: Site.objects.get(pk=asked.site.pk)}
    sites |= {site.pk: site for site in Site.objects.filter(pk__in=set(named.values()) - set(sites))}
    breaks = tuple(found for site in sites.values() for found in check_site(site))
    elsewhere = sum(site != asked.site.pk for site in named.values())
    facts, made_at = frozenset(asked.facts), asked.local(clock.now())
    return SealsRead(sites[asked.site.pk], made_at, facts, elsewhere, len(facts) - len(named), breaks)
