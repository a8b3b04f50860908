"""What training answers the clinic: each by the name under which `clinic.port` asks it."""

from training.reads.consequences import what_ends_meanwhile, what_falls_without
from training.reads.new_hazards import to_teach
from training.reads.procedure_said import procedure_on, roles_of
from training.reads.standing import usable_on_days, usable_people, usable_within

__all__ = [
    "procedure_on",
    "roles_of",
    "to_teach",
    "usable_on_days",
    "usable_people",
    "usable_within",
    "what_ends_meanwhile",
    "what_falls_without",
]
