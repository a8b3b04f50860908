"""Addresses of the list of chemicals."""

from django.urls import path

from clinic.views import upkeep_chemicals as views

urlpatterns = [
    path("upkeep/chemicals/", views.chemicals, name="chemicals"),
    path("upkeep/chemicals/new/", views.new_chemical, name="new_chemical"),
    path("upkeep/chemicals/<uuid:chemical_listed>/", views.chemical, name="chemical"),
]
