"""Addresses of signing."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
