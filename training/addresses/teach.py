"""Addresses of teaching: knowledge checks, talking one through, the supervisors' own questions, taught sessions."""

from django.urls import URLPattern, path

from training.views import checks, sessions

urlpatterns: list[URLPattern] = [
    path("procedures/<slug:code>/check/", checks.check, name="check"),
    path("procedures/<slug:code>/check/<uuid:knowledge_result>/", checks.result, name="check_result"),
    path("procedures/<slug:code>/talk/<uuid:person>/", checks.talk, name="talk_through"),
    path("procedures/supervisor-questions/", checks.supervisor_check, name="supervisor_check"),
    path("procedures/taught/", sessions.sessions, name="sessions"),
    path("procedures/taught/new/", sessions.new, name="session_new"),
    path("procedures/taught/<uuid:taught_session>/", sessions.session, name="session"),
    path("procedures/taught/<uuid:taught_session>/correct/", sessions.correct, name="session_correct"),
]
