"""Django’s own SQLite, told not to do again what it did already: `ENGINE` in the settings names it."""
