"""Addresses of events: injuries, near misses, and what was learned from them."""

from django.urls import path

from clinic.views import incidents

urlpatterns = [
    path("upkeep/events/", incidents.incidents, name="incidents"),
    path("upkeep/events/log/", incidents.printed_log, name="sharps_log"),
    path("upkeep/events/near-miss/", incidents.near_miss, name="near_miss"),
    path("upkeep/events/new/", incidents.new_event, name="new_event"),
    path("upkeep/events/<uuid:incident>/filed/", incidents.event_filed, name="event_filed"),
    path("upkeep/events/<uuid:incident>/review/", incidents.review_event, name="review_event"),
]
