"""The addresses of the register. Site pages begin with the site's short name."""

from django.urls import include, path

handler400 = "clinic.views.trouble.not_read"
handler500 = "clinic.views.trouble.could_not_answer"

urlpatterns = [
    path("", include("clinic.addresses")),
    path("", include("training.addresses")),
]
