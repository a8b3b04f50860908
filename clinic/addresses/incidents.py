"""Addresses of incidents."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
