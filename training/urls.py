"""Addresses of training's pages: the public check page, and everything under a site."""

from django.urls import include, path

from training.addresses import audit, judging, observe, papers, people, procedures, signing, teach, today
from training.views import certificates

app_name = "training"

at_site = [
    *today.urlpatterns,
    *judging.urlpatterns,
    *people.urlpatterns,
    *teach.urlpatterns,
    *procedures.urlpatterns,
    *papers.urlpatterns,
    *observe.urlpatterns,
    *signing.urlpatterns,
    *audit.urlpatterns,
]

urlpatterns = [
    path("check/<str:code>/", certificates.check, name="certificate_check"),
    path("<slug:site>/", include(at_site)),
]
