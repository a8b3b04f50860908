"""Tables of a binder with columns of their own, and the counts behind the answers to what is asked about them."""

from collections.abc import Sequence
from dataclasses import dataclass

from clinic.models import UpkeepEntry
from training.documents.binder import content as b
from training.reads.binder.asked import BinderAsked
from training.reads.binder.checks import doubted, doubts, driver_table, spore_rows, spores, water, water_entries
from training.reads.binder.in_time import in_time
from training.reads.binder.jobs import job_counts, jobs
from training.reads.binder.register import register
from training.reads.binder.stock import messages, scrapped, stock
from training.reads.binder.tools import chemicals, lots, milled, stops, tools


@dataclass(frozen=True, slots=True)
class Extras:
    """The tables, and the counts behind the answers to what is asked about them."""

    tables: list[b.Extra]
    drivers: int
    drivers_good: int
    register: list[str]  # how the register itself is kept, in sentences
    doubts: list[str]  # what is in doubt after a driver failed, in sentences


def extras(asked: BinderAsked) -> Extras:
    tests, (register_says, register_tables) = spore_rows(asked), register(asked)
    doubtful = doubted(asked)
    return Extras(
        tables=tables(asked, tests, doubtful, register_tables),
        drivers=len(asked.drivers),
        drivers_good=sum(not one.refused for one in asked.drivers),
        register=register_says,
        doubts=doubts(doubtful),
    )


def tables(
    asked: BinderAsked, tests: Sequence[UpkeepEntry], doubtful: b.Extra, register_tables: Sequence[b.Extra]
) -> list[b.Extra]:
    """In the order of the sections; the facts of their lines are what the binder rests on. The short form reads and has what
    it prints and what its first page counts; of a driver's doubt and of how the register is kept it prints the sentences."""
    checked = [*water(asked, water_entries(asked)), spores(asked, tests), driver_table(asked)]
    further = of_work(asked) if asked.in_full else [in_time(asked)]
    made = [*checked, doubtful, *further, *register_tables]
    asked.facts |= {row[-1] for table in made if table.columns[-1] == "Fact" for row in table.rows if row[-1]}
    return made if asked.in_full else [*checked, *further]


def of_work(asked: BinderAsked) -> list[b.Extra]:
    """What was milled and with what: in the full form only."""
    return [
        tools(asked),
        jobs(asked),
        stops(asked),
        in_time(asked),
        milled(asked),
        job_counts(asked),
        lots(asked),
        stock(asked),
        scrapped(asked),
        messages(asked),
        chemicals(asked),
    ]
