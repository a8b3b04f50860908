"""The verbs that write in training, one concept a file. Each refuses with every reason at once, or records."""
