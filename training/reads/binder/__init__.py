"""What the binder says, section by section, from rows to the plain content that `training.documents.binder` draws.
`gather` puts it together; each other file feeds the sections of its name."""
