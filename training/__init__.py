"""What people have shown they can do. Choices that reach through the whole room, each with its reason.

- A version is a fact; the text that is still being written is a `Draft`, a row that may change. So the database
  itself keeps an approved version from changing, and "as known by" covers approvals.
- A worker in the browser (`bench_worker.js`) opens the bench of an unsent observation again on a dead network, on
  HTTPS or the machine itself. The page is kept on that device only, and forgotten once it is sent, at the next
  sign-in, and after twelve hours.
- Findings are timelines, stored as `FindingSpan` by `training/finding_spans.py`: a fact refreshes the subjects it
  touches (`training/finding_subjects.py`). What decides findings and is no fact (staff, job roles, requirements,
  units, tasks) takes the mark `FindingsKept` of its site away; until the worker has stored them anew they are
  computed. As known by an instant they are always computed, by the same gathers (`KINDS` in
  `training/reads/findings/stored.py`).
- A fact that is recorded is followed by a reading of what it touches only (`training/gather_near.py`): the facts of
  these procedures, and of what they rest on, and of who watched, the days as they are stored. Many facts at once, and
  a rebuild of everything, read all facts (`training/gather.py`). A test with random facts holds that both come to the
  same.
- A fact that touches very many timelines (a version, an authority, an import of hundreds of lines) marks them as
  `SpansWaiting`, and a worker stores them (`training/storing.py`). Every question to the spans reads the marked ones
  from the facts (`training/models/read_through.py`, `training/computed_now.py`), so that nobody waits in a request for
  minutes and nothing old is ever read. Findings that rest on standing are computed meanwhile. A house test finds what
  reads the spans in another way, and a test with random facts that both come to the same.
- Of upkeep a fact of a day reads back to the newest time before it that the task was done: what was found until then
  stands (`of_upkeep_since` in `clinic/reads/findings.py`).
- Whoever puts a record right (takes it back, corrects marks or a session, withdraws) proves again who they are, as
  for a sign-off (E-19 to E-21): it undoes what others rely on, and a shared tablet may be somebody else's. A sign-off
  has room for its own signature; the others have a `Signature` beside them, a fact that names the one it signs (E-13,
  E-15). An observation is recorded without: marks are taken with the gloves just off, and stand only beside others.
- Whoever approves a version, states that it was held against the maker's instructions (title and edition) or makes a
  founding grant proves again who they are, too, and signs beside it: these start what others rely on.
- Nobody takes back what is recorded about themselves, their own failed tries at a check included.
- What goes with a fact is taken back with it (`clinic/actions/taking_back.py`): a check's stop, a swap's cycle. How
  each kind of fact is put right is said in `training/views/correcting.py`; a house test finds the kind that says
  nothing.
- Whoever takes a fact back or puts one in its place signs a `Signature` beside the later fact.
"""
