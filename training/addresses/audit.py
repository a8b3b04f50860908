"""Addresses of audit: facts, findings, binders."""

from django.urls import URLPattern, path

from training.views import facts

urlpatterns: list[URLPattern] = [
    path("facts/<uuid:fact>/", facts.fact, name="fact"),
]
