"""Addresses of jobs, and of the sets of tools they need."""

from django.urls import path

from clinic.views import jobs, tool_sets

urlpatterns = [
    path("upkeep/jobs/", jobs.jobs, name="jobs"),
    path("upkeep/jobs/<uuid:job_started>/end/", jobs.end, name="end_job"),
    path("upkeep/unit/<uuid:equipment>/job/", jobs.start, name="start_job"),
    path("upkeep/equipment/<uuid:equipment>/jobs/", jobs.unit_jobs, name="unit_jobs"),
    path("upkeep/equipment/<uuid:equipment>/set/", tool_sets.tool_set, name="tool_set"),
    path("upkeep/equipment/<uuid:equipment>/set/lines/", tool_sets.set_lines, name="set_lines"),
]
