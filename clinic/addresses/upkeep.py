"""Addresses of upkeep and equipment."""

from django.urls import path

from clinic.views import equipment, equipment_stops, upkeep, upkeep_use

urlpatterns = [
    path("upkeep/", upkeep.upkeep, name="upkeep"),
    path("upkeep/unit/<uuid:equipment>/", upkeep.log_for_unit, name="log_for_unit"),
    path("upkeep/unit/<uuid:equipment>/log/<slug:upkeep_task>/", upkeep.log_entry, name="log_entry"),
    path("upkeep/unit/<uuid:equipment>/use/", upkeep_use.use, name="use"),
    path("upkeep/use/file/", upkeep_use.use_file, name="use_file"),
    path("upkeep/stop/", equipment_stops.stop_a_unit, name="stop_a_unit"),
    path("upkeep/intervals/", equipment.intervals, name="intervals"),
    path("upkeep/closed-days/", equipment.closures, name="closures"),
    path("upkeep/equipment/", equipment.equipment, name="equipment"),
    path("upkeep/equipment/new/", equipment.new_unit, name="new_unit"),
    path("upkeep/equipment/<uuid:equipment>/", equipment.unit, name="unit"),
    path("upkeep/equipment/<uuid:equipment>/change/", equipment.change, name="change_unit"),
    path("upkeep/equipment/<uuid:equipment>/opening/", equipment.opening, name="opening_reading"),
    path("upkeep/equipment/<uuid:equipment>/return/", equipment_stops.return_to_service, name="return_unit"),
]
