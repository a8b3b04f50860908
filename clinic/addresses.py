"""Addresses of the clinic's pages: the doors, one's own account, and everything about the practice under a site, area by area."""

from django.urls import URLPattern, include, path

from clinic.views import (
    accounts,
    days,
    equipment,
    equipment_drivers,
    equipment_lots,
    equipment_stops,
    equipment_tools,
    factors,
    incidents,
    jobs,
    own_account,
    pins,
    recovery,
    roster,
    roster_accounts,
    roster_file,
    roster_posts,
    second_factor,
    setting_up,
    site,
    stock,
    together,
    tool_sets,
    upkeep,
    upkeep_chemicals,
    upkeep_days,
    upkeep_tablet,
    upkeep_use,
    upkeep_water,
)

app_name = "clinic"

# One's own account: second factors, recovery codes, sessions, the password
account_pages: list[URLPattern] = [
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

# The roster: people, accounts, files, posts, outside witnesses
roster_pages: list[URLPattern] = [
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

# When people work
days_pages: list[URLPattern] = [
    path("people/<uuid:person>/days/", days.days, name="days"),
]

# Upkeep and equipment
upkeep_pages: list[URLPattern] = [
    path("upkeep/", upkeep.upkeep, name="upkeep"),
    path("upkeep/unit/<uuid:equipment>/", upkeep.log_for_unit, name="log_for_unit"),
    path("upkeep/unit/<uuid:equipment>/log/<slug:upkeep_task>/", upkeep.log_entry, name="log_entry"),
    path("upkeep/unit/<uuid:equipment>/together/", together.together, name="together"),
    path("upkeep/unit/<uuid:equipment>/use/", upkeep_use.use, name="use"),
    path("upkeep/use/file/", upkeep_use.use_file, name="use_file"),
    path("upkeep/unit/<uuid:equipment>/swap/", equipment_tools.swap, name="swap"),
    path("upkeep/entries/<uuid:upkeep_entry>/result/", upkeep.result, name="result"),
    path("upkeep/photos/<uuid:entry_photo>/", upkeep.photo, name="photo"),
    path("upkeep/tablet/", upkeep_tablet.tablet, name="tablet"),
    path("upkeep/water/", upkeep_water.water, name="water"),
    path("upkeep/water/limit/", upkeep_water.water_limit, name="water_limit"),
    path("upkeep/spore-tests/", upkeep_water.spore_tests, name="spore_tests"),
    path("upkeep/drivers/", equipment_drivers.drivers, name="drivers"),
    path("upkeep/tools/", equipment_tools.tools, name="tools"),
    path("upkeep/tools/new/", equipment_tools.new_tool, name="new_tool"),
    path("upkeep/lots/", equipment_lots.lots, name="lots"),
    path("upkeep/lots/new/", equipment_lots.new_lot, name="new_lot"),
    path("upkeep/stop/", equipment_stops.stop_a_unit, name="stop_a_unit"),
    path("upkeep/intervals/", equipment.intervals, name="intervals"),
    path("upkeep/closed-days/", equipment.closures, name="closures"),
    path("upkeep/equipment/", equipment.equipment, name="equipment"),
    path("upkeep/equipment/new/", equipment.new_unit, name="new_unit"),
    path("upkeep/equipment/<uuid:equipment>/", equipment.unit, name="unit"),
    path("upkeep/equipment/<uuid:equipment>/change/", equipment.change, name="change_unit"),
    path("upkeep/equipment/<uuid:equipment>/opening/", equipment.opening, name="opening_reading"),
    path("upkeep/equipment/<uuid:equipment>/papers/", equipment_drivers.papers, name="papers"),
    path("upkeep/equipment/<uuid:equipment>/verify/", equipment_drivers.verify, name="verify"),
    path("upkeep/equipment/<uuid:equipment>/pairs/", equipment_tools.pairs, name="pairs"),
    path("upkeep/equipment/<uuid:equipment>/changed/", upkeep_water.changed, name="changed"),
    path("upkeep/equipment/<uuid:equipment>/load/", upkeep_water.load, name="load"),
    path("upkeep/equipment/<uuid:equipment>/stopped/", equipment_stops.stopped, name="stopped"),
    path("upkeep/equipment/<uuid:equipment>/return/", equipment_stops.return_to_service, name="return_unit"),
]

# Jobs, and of the sets of tools they need
jobs_pages: list[URLPattern] = [
    path("upkeep/jobs/", jobs.jobs, name="jobs"),
    path("upkeep/jobs/<uuid:job_started>/end/", jobs.end, name="end_job"),
    path("upkeep/unit/<uuid:equipment>/job/", jobs.start, name="start_job"),
    path("upkeep/equipment/<uuid:equipment>/jobs/", jobs.unit_jobs, name="unit_jobs"),
    path("upkeep/equipment/<uuid:equipment>/set/", tool_sets.tool_set, name="tool_set"),
    path("upkeep/equipment/<uuid:equipment>/set/lines/", tool_sets.set_lines, name="set_lines"),
]

# The shelf and of the messages of units
stock_pages: list[URLPattern] = [
    path("upkeep/stock/", stock.stock, name="stock"),
    path("upkeep/stock/lines/", stock.stock_lines, name="stock_lines"),
    path("upkeep/messages/", stock.unit_messages, name="unit_messages"),
]

# The list of chemicals
chemicals_pages: list[URLPattern] = [
    path("upkeep/chemicals/", upkeep_chemicals.chemicals, name="chemicals"),
    path("upkeep/chemicals/new/", upkeep_chemicals.new_chemical, name="new_chemical"),
    path("upkeep/chemicals/<uuid:chemical_listed>/", upkeep_chemicals.chemical, name="chemical"),
]

# What the records of equipment say: the bands of coolant, and the days in time
records_pages: list[URLPattern] = [
    path("upkeep/in-time/", upkeep_days.in_time, name="days_in_time"),
    path("upkeep/water/bands/", upkeep_water.bands, name="coolant_bands"),
]

# Events: injuries, near misses, and what was learned from them
incidents_pages: list[URLPattern] = [
    path("upkeep/events/", incidents.incidents, name="incidents"),
    path("upkeep/events/log/", incidents.printed_log, name="sharps_log"),
    path("upkeep/events/near-miss/", incidents.near_miss, name="near_miss"),
    path("upkeep/events/new/", incidents.new_event, name="new_event"),
    path("upkeep/events/<uuid:incident>/filed/", incidents.event_filed, name="event_filed"),
    path("upkeep/events/<uuid:incident>/review/", incidents.review_event, name="review_event"),
]

at_site = [
    *roster_pages,
    *days_pages,
    *upkeep_pages,
    *jobs_pages,
    *stock_pages,
    *chemicals_pages,
    *records_pages,
    *incidents_pages,
]

urlpatterns = [
    path("", accounts.home, name="home"),
    path("sign-in/", accounts.sign_in, name="sign_in"),
    path("sign-in/second/", second_factor.second_factor, name="second_factor"),
    path("sign-out/", accounts.sign_out, name="sign_out"),
    path("change-person/", pins.change_person, name="change_person"),
    path("pin/", pins.by_pin, name="by_pin"),
    path("unlock/", accounts.unlock, name="unlock"),
    path("lock/", accounts.lock_now, name="lock_now"),
    path("awake/", accounts.awake, name="awake"),
    path("invitation/<str:code>/", accounts.invitation, name="invitation"),
    path("account/", include(account_pages)),
    path("<slug:site>/", include(at_site)),
]
