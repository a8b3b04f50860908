"""Addresses of observe."""

from django.urls import URLPattern, path

from training.views import observe, observed

urlpatterns: list[URLPattern] = [
    path("observe/", observe.start, name="observe"),
    path("observe/begin/", observe.start, name="observe_start"),
    path("observe/bench/", observe.bench, name="bench"),
    path("observe/<uuid:observation>/", observed.observed, name="observed"),
    path("observe/<uuid:observation>/miss/", observed.miss, name="miss"),
]
