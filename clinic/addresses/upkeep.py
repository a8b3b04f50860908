"""Addresses of upkeep and equipment."""

from django.urls import path

from clinic.views import (
    equipment,
    equipment_drivers,
    equipment_lots,
    equipment_stops,
    equipment_tools,
    upkeep,
    upkeep_tablet,
    upkeep_use,
    upkeep_water,
)

urlpatterns = [
    path("upkeep/", upkeep.upkeep, name="upkeep"),
    path("upkeep/unit/<uuid:equipment>/", upkeep.log_for_unit, name="log_for_unit"),
    path("upkeep/unit/<uuid:equipment>/log/<slug:upkeep_task>/", upkeep.log_entry, name="log_entry"),
    path("upkeep/unit/<uuid:equipment>/use/", upkeep_use.use, name="use"),
    path("upkeep/use/file/", upkeep_use.use_file, name="use_file"),
    path("upkeep/unit/<uuid:equipment>/swap/", equipment_tools.swap, name="swap"),
    path("upkeep/entries/<uuid:upkeep_entry>/result/", upkeep.result, name="result"),
    path("upkeep/photos/<uuid:entry_photo>/", upkeep.photo, name="photo"),
    path("upkeep/tablet/", upkeep_tablet.tablet, name="tablet"),
    path("upkeep/water/", upkeep_water.water, name="water"),
    path("upkeep/water/limit/", upkeep_water.water_limit, name="water_limit"),
    path("upkeep/spore-tests/", upkeep_water.spore_tests, name="spore_tests"),
    path("upkeep/drivers/", equipment_drivers.drivers, name="drivers"),
    path("upkeep/tools/", equipment_tools.tools, name="tools"),
    path("upkeep/tools/new/", equipment_tools.new_tool, name="new_tool"),
    path("upkeep/lots/", equipment_lots.lots, name="lots"),
    path("upkeep/lots/new/", equipment_lots.new_lot, name="new_lot"),
    path("upkeep/stop/", equipment_stops.stop_a_unit, name="stop_a_unit"),
    path("upkeep/intervals/", equipment.intervals, name="intervals"),
    path("upkeep/closed-days/", equipment.closures, name="closures"),
    path("upkeep/equipment/", equipment.equipment, name="equipment"),
    path("upkeep/equipment/new/", equipment.new_unit, name="new_unit"),
    path("upkeep/equipment/<uuid:equipment>/", equipment.unit, name="unit"),
    path("upkeep/equipment/<uuid:equipment>/change/", equipment.change, name="change_unit"),
    path("upkeep/equipment/<uuid:equipment>/opening/", equipment.opening, name="opening_reading"),
    path("upkeep/equipment/<uuid:equipment>/papers/", equipment_drivers.papers, name="papers"),
    path("upkeep/equipment/<uuid:equipment>/verify/", equipment_drivers.verify, name="verify"),
    path("upkeep/equipment/<uuid:equipment>/pairs/", equipment_tools.pairs, name="pairs"),
    path("upkeep/equipment/<uuid:equipment>/changed/", upkeep_water.changed, name="changed"),
    path("upkeep/equipment/<uuid:equipment>/load/", upkeep_water.load, name="load"),
    path("upkeep/equipment/<uuid:equipment>/return/", equipment_stops.return_to_service, name="return_unit"),
]
