"""The verbs that write, one concept a file. The actor is always named; every change is recorded in its transaction."""
