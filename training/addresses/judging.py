"""Addresses of judging: coverage, the week plan, learning pictures, agreement, the owner's page. Before those of people,
whose pages of one procedure would otherwise take them."""

from django.urls import URLPattern, path

from training.views import agreement, judging, owner

urlpatterns: list[URLPattern] = [
    path("audit/owner/", owner.owner, name="owner"),
    path("audit/owner/kept/", owner.what_is_kept, name="what_is_kept"),
    path("audit/coverage/", judging.coverage, name="coverage"),
    path("audit/coverage/pdf/", judging.coverage_pdf, name="coverage_pdf"),
    path("audit/agreement/", agreement.agreement, name="agreement"),
    path("observe/<uuid:observation>/second/", agreement.second_marks, name="second_marks"),
    path("observe/week/", judging.week_plan, name="week_plan"),
    path("people/<uuid:person>/learning/", judging.learning, name="learning"),
]
