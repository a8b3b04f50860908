"""Pure rules of the clinic, and how they read the design where it leaves a choice.

- A follow-up is no state that somebody closes: it is open until a good reading that stands answers it.
- A sample and its reading are two days: `happened_on` is that of the sample, a `ResultRead` has that of the reading.
  A fail takes its place in a steriliser's story when it was read, a pass when it was put in.
- A torque driver has one clock, the 365 days and 5,000 cycles of its task, which are never longer than the 12 months
  of T-10; only a pass moves it, neither a failed check nor a closure or a stop.
- What a swap is refused for today it is refused for on its own day: a swap may be recorded for a past day while
  nothing later is known of the position or the tool.
"""
