"""Addresses of today."""

from django.urls import URLPattern, path

from training.views import at_the_mill, find, matrix, today, who_may

urlpatterns: list[URLPattern] = [
    path("today/", today.today, name="today"),
    path("today/who-may/", who_may.who_may, name="who_may"),
    path("today/at-the-mill/", at_the_mill.mill_today, name="at_the_mill"),
    path("today/find/", find.find_here, name="find"),
    path("people/matrix/", matrix.matrix, name="matrix"),
    path("people/matrix/<uuid:person>/<slug:code>/<str:day>/", matrix.cell, name="cell"),
]
