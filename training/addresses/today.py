"""Addresses of today."""

from django.urls import URLPattern, path

from training.views import matrix, today, who_may

urlpatterns: list[URLPattern] = [
    path("today/", today.today, name="today"),
    path("today/who-may/", who_may.who_may, name="who_may"),
    path("people/matrix/", matrix.matrix, name="matrix"),
    path("people/matrix/<uuid:person>/<slug:code>/<str:day>/", matrix.cell, name="cell"),
]
