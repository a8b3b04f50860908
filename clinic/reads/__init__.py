"""From rows to the plain facts of the rules, with a fixed number of queries for each question."""
