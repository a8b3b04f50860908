"""Addresses of audit: facts, findings, what is kept elsewhere, binders."""

from django.urls import URLPattern, path

from training.views import audit, binders, facts, safeguards

urlpatterns: list[URLPattern] = [
    path("facts/<uuid:fact>/", facts.fact, name="fact"),
    path("audit/", audit.audit, name="audit"),
    path("audit/actions/", audit.action, name="action"),
    path("audit/seals/", audit.seals, name="seal_check"),
    path("audit/safeguards/", safeguards.safeguard, name="safeguard"),
    path("audit/kept-elsewhere/", audit.elsewhere, name="elsewhere"),
    path("audit/kept-elsewhere/<uuid:kept_elsewhere>/", audit.elsewhere_line, name="elsewhere_line"),
    path("audit/binders/", binders.binders, name="binders"),
    path("audit/binders/jobs/<uuid:binder_job>/", binders.job, name="binder_job"),
    path("audit/binders/<uuid:issue>/", binders.binder, name="binder"),
    path("audit/binders/<uuid:issue>/pass/", binders.binder_pass, name="binder_pass"),
    path("audit/passes/<int:inspector_pass>/end/", binders.pass_end, name="pass_end"),
    path("audit/binders/<uuid:issue>/pdf/", binders.binder_pdf, name="binder_pdf"),
    path("audit/binders/<uuid:issue>/pack/", binders.binder_pack, name="binder_pack"),
]
