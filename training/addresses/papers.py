"""Addresses of papers for the wall and the drawer."""

from django.urls import URLPattern, path

from training.views import papers, sheets

urlpatterns: list[URLPattern] = [
    path("procedures/<slug:code>/wall-card/", papers.wall_card, name="wall_card"),
    path("procedures/<slug:code>/blank-checklist/", sheets.blank_checklist, name="blank_checklist"),
    path("sheets/", sheets.sheets, name="sheets"),
    path("sheets/enter/", sheets.enter, name="sheet_enter"),
    path("sheets/printed/<uuid:sheets_printed>/", sheets.printed, name="sheets_printed"),
    path("sheets/photos/<uuid:sheet_photo>/", sheets.photo, name="sheet_photo"),
    path("sheets/<uuid:sheet_entered>/", sheets.sheet, name="sheet"),
    path("upkeep/equipment/<uuid:equipment>/label/", papers.wall_label, name="wall_label"),
]
