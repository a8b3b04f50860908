"""Addresses of the roster: people, accounts, files, posts, outside witnesses."""

from django.urls import URLPattern, path

from clinic.views import recovery, roster, roster_accounts, roster_file, roster_posts, setting_up, site

urlpatterns: list[URLPattern] = [
    path("people/roster/", roster.roster, name="roster"),
    path("people/roster/new/", roster.person_new, name="person_new"),
    path("people/roster/import/", roster_file.roster_import, name="roster_import"),
    path("people/roster/export/", roster_file.roster_export, name="roster_export"),
    path("people/roster/accounts/", roster_accounts.account_review, name="account_review"),
    path("people/roster/accounts/<int:account>/", roster_accounts.account_close, name="account_close"),
    path("people/roster/going-live/units/", setting_up.units, name="unit_table"),
    path("people/roster/going-live/drivers/", setting_up.drivers, name="driver_table"),
    path("people/roster/going-live/references/", setting_up.references, name="reference_table"),
    path("people/roster/site/", site.site_ways, name="site_ways"),
    path("people/roster/posts/", roster_posts.posts, name="posts"),
    path("people/roster/posts/new/", roster_posts.post_new, name="post_new"),
    path("people/roster/posts/<int:appointment>/end/", roster_posts.post_end, name="post_end"),
    path("people/roster/witnesses/", roster_posts.witnesses, name="witnesses"),
    path("people/roster/witnesses/new/", roster_posts.witness_new, name="witness_new"),
    path("people/roster/roles/<int:role_held>/end/", roster.role_end, name="role_end"),
    path("people/roster/<uuid:person>/", roster.person_change, name="person_change"),
    path("people/roster/<uuid:person>/role/", roster.role_give, name="role_give"),
    path("people/roster/<uuid:person>/leave/", roster.person_leave, name="person_leave"),
    path("people/roster/<uuid:person>/invite/", roster_accounts.invite, name="invite"),
    path("people/roster/<uuid:person>/recovery/", recovery.recovery_ask, name="recovery_ask"),
    path("people/roster/recoveries/<uuid:account_recovery>/", recovery.recovery, name="recovery"),
    path("people/roster/<uuid:person>/lost-device/", roster_accounts.end_sessions, name="end_sessions"),
]
