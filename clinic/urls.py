"""The addresses of the register. Site pages begin with the site's short name."""

from django.urls import include, path

urlpatterns = [
    path("", include("clinic.pages")),
    path("", include("training.urls")),
]
