"""Addresses of one's own account: second factors, recovery codes, sessions, the password."""

from django.urls import URLPattern, path

from clinic.views import factors, own_account, pins

urlpatterns: list[URLPattern] = [
    path("", own_account.account, name="account"),
    path("password/", own_account.password_change, name="password_change"),
    path("pin/", pins.pin_choose, name="pin_choose"),
    path("pins/<uuid:pin>/end/", pins.pin_end, name="pin_end"),
    path("sessions/end-others/", own_account.sessions_end_others, name="sessions_end_others"),
    path("sessions/<uuid:signed_in>/end/", own_account.session_end, name="session_end"),
    path("factors/app/", factors.factor_app, name="factor_app"),
    path("factors/passkey/", factors.factor_passkey, name="factor_passkey"),
    path("factors/codes/", factors.recovery_codes, name="recovery_codes"),
    path("factors/<uuid:second_factor>/remove/", factors.factor_remove, name="factor_remove"),
]
