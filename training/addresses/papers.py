"""Addresses of papers for the wall and the drawer."""

from django.urls import URLPattern, path

from training.views import papers

urlpatterns: list[URLPattern] = [
    path("procedures/<slug:code>/wall-card/", papers.wall_card, name="wall_card"),
    path("procedures/<slug:code>/blank-checklist/", papers.blank_checklist, name="blank_checklist"),
    path("upkeep/equipment/<uuid:equipment>/label/", papers.wall_label, name="wall_label"),
]
