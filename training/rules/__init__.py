"""Pure rules of training, and how they read the design where it leaves a choice.

Two writers read the text independently (`training/rules/standing.py`, and day by day `tests/rules/slow_standing.py`) and
agreed on these.

- A fact is void when any known fact corrects it, even if that correction is voided later: voiding a voiding restores
  nothing.
- A correction is ordered by its own day and time, and by the recorded instant of the first fact of its chain.
- Facts that the rules refuse have no effect if they are there anyway (a carried-over record after a sign-off, a
  founding grant while a sign-off is alive, anything before the first version is in force).
- *Enough* evidence always includes *some*: a topic that nobody was taught is untrained, not ready.
- A retired prerequisite is asked of nobody; one without a known version is never usable.
- For the idle limit a method counts when the signed version takes it for a first sign-off or for a renewal. Upkeep
  counts when any version of the procedure covers the task; a tool that was set in counts for the procedure that stands
  for a swap. Looking at a sharps tub is no swap, and a dip-slide no change of the water.
- *Ends on* is the end of the unbroken run of usable days over all that is known, so a renewal moves it for past days
  too.
- "Only with somebody standing by" is said of learning, ready, on hold and lapsed; "no" of untrained and withdrawn.
- "A policy that asks more never makes someone usable earlier" holds for what evidence it asks, for prerequisites and
  for grace. It does not hold for shorter lives: a shorter idle limit can bring a renewal into the notice days of the
  sign-off before it, and so start it later.
- Whether work was done by somebody usable is asked at its time of the day (`clinic.port.usable_then`).
- An assessment is evidence only where whoever watched it was usable in the procedure at that time, in the order of
  the day, or a founder, an outside witness, or given authority with a reason (`training/rules/watchers.py`). What is
  set aside stays a performance, and a critical miss that it saw starts the count again: so being usable never depends
  on who watched, and no circle can arise. A change in the days of a watcher refreshes whomever they watched on those
  days (`training/spans.py`).
- A sheet of paper is entered in the name of whoever enters it (`SheetEntered`), under a number that the register
  printed (`SheetsPrinted`), once a site. It is no evidence: only the watcher's own act, proved, makes the
  `Observation` that names it as its sheet. Both stand and fall together. An outside witness signs on paper and has no
  account: a sheet of theirs keeps its photo, and somebody with authority, who neither did the work nor entered it,
  compares the two and proves it (`COMPARED`). `from_paper` of a policy says whether such an assessment counts for a
  first sign-off, for a renewal only, or never; a critical miss on paper starts the count again whatever it says.
"""
