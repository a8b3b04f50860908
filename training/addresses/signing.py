"""Addresses of signing, certificates and putting right."""

from django.urls import URLPattern, path

from training.views import certificates, correcting, signing

urlpatterns: list[URLPattern] = [
    path("sign/<uuid:person>/<slug:code>/", signing.sign, name="sign"),
    path("withdraw/<uuid:person>/<slug:code>/", signing.withdraw, name="withdraw"),
    path("signed/<uuid:signoff>/", signing.signed, name="signed"),
    path("signed/<uuid:signoff>/certificate/", certificates.issue, name="issue_certificate"),
    path("certificates/<uuid:issue>/", certificates.certificate, name="certificate"),
    path("observe/<uuid:observation>/correct/", correcting.correct, name="correct"),
    path("take-back/<uuid:fact>/", correcting.take_back, name="take_back"),
]
