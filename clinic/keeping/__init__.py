"""Keeping the register: copies of it, back from a copy, and from one database to the other."""
