"""Addresses of procedures: the list, the walk round, one procedure with its drafts."""

from django.urls import URLPattern, path

from training.views import drafts, procedures, walk

urlpatterns: list[URLPattern] = [
    path("procedures/", procedures.procedures, name="procedures"),
    path("procedures/site-facts/", walk.walk, name="walk"),
    path("procedures/site-facts/answer/", walk.answer, name="walk_answer"),
    path("procedures/approve/", drafts.approve_drafts, name="approve_drafts"),
    path("procedures/<slug:code>/", procedures.procedure, name="procedure"),
    path("procedures/<slug:code>/instructions/", procedures.instructions, name="check_instructions"),
    path("procedures/<slug:code>/retire/", procedures.retire_procedure, name="retire_procedure"),
    path("procedures/<slug:code>/draft/", drafts.draft, name="draft"),
    path("procedures/<slug:code>/draft/words/", drafts.words, name="draft_words"),
    path("procedures/<slug:code>/draft/steps/", drafts.steps, name="draft_steps"),
    path("procedures/<slug:code>/draft/questions/", drafts.questions, name="draft_questions"),
    path("procedures/<slug:code>/draft/policy/", drafts.policy, name="draft_policy"),
    path("procedures/<slug:code>/draft/preview/", drafts.preview, name="draft_preview"),
    path("procedures/<slug:code>/draft/approve/", drafts.approve_draft, name="draft_approve"),
]
