"""Addresses of people: everybody, one person, one procedure of theirs, their plan."""

from django.urls import URLPattern, path

from training.views import people, person

urlpatterns: list[URLPattern] = [
    path("people/", people.people, name="people"),
    path("people/<uuid:person>/", person.person, name="person"),
    path("people/<uuid:person>/plan/", person.plan, name="plan"),
    path("people/<uuid:person>/<slug:code>/", person.person_procedure, name="person_procedure"),
]
