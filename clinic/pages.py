"""Addresses of the clinic's pages: the doors, and everything about the practice under a site."""

from django.urls import include, path

from clinic.addresses import account, chemicals, days, incidents, jobs, records, roster, stock, upkeep
from clinic.views import accounts, pins, second_factor

app_name = "clinic"

at_site = [
    *roster.urlpatterns,
    *days.urlpatterns,
    *upkeep.urlpatterns,
    *jobs.urlpatterns,
    *stock.urlpatterns,
    *chemicals.urlpatterns,
    *records.urlpatterns,
    *incidents.urlpatterns,
]

urlpatterns = [
    path("", accounts.home, name="home"),
    path("sign-in/", accounts.sign_in, name="sign_in"),
    path("sign-in/second/", second_factor.second_factor, name="second_factor"),
    path("sign-out/", accounts.sign_out, name="sign_out"),
    path("change-person/", pins.change_person, name="change_person"),
    path("pin/", pins.by_pin, name="by_pin"),
    path("unlock/", accounts.unlock, name="unlock"),
    path("awake/", accounts.awake, name="awake"),
    path("invitation/<str:code>/", accounts.invitation, name="invitation"),
    path("account/", include(account.urlpatterns)),
    path("<slug:site>/", include(at_site)),
]
