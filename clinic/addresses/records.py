"""Addresses of what the records of equipment say: the bands of coolant, and the days in time."""

from django.urls import path

from clinic.views import upkeep_water

urlpatterns = [
    path("upkeep/water/bands/", upkeep_water.bands, name="coolant_bands"),
]
