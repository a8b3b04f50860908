"""Addresses of when people work."""

from django.urls import path

from clinic.views import days

urlpatterns = [
    path("people/<uuid:person>/days/", days.days, name="days"),
]
