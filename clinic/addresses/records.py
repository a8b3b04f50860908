"""Addresses of what the records of equipment say: the bands of coolant, and the days in time."""

from django.urls import path

from clinic.views import upkeep_days, upkeep_water

urlpatterns = [
    path("upkeep/in-time/", upkeep_days.in_time, name="days_in_time"),
    path("upkeep/water/bands/", upkeep_water.bands, name="coolant_bands"),
]
