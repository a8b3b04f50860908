"""The addresses of the register. Site pages begin with the site's short name."""

from django.urls import include, path

urlpatterns = [
    path("", include("training.public_urls")),
    path("", include("clinic.pages")),
    path("<slug:site>/", include("training.urls")),
]
