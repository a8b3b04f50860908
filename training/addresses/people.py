"""Addresses of people: everybody, one person, their plan; what job roles need; authority; carried-over records."""

from django.urls import URLPattern, path

from training.views import carried, going_live, grants, own_record, people, person, requirements, setting_up, slips

urlpatterns: list[URLPattern] = [
    path("people/", people.people, name="people"),
    path("people/<uuid:person>/", person.person, name="person"),
    path("people/<uuid:person>/record/", own_record.record, name="own_record"),
    path("people/<uuid:person>/record.csv", own_record.record_csv, name="own_record_csv"),
    path("people/<uuid:person>/record.json", own_record.record_json, name="own_record_json"),
    path("people/<uuid:person>/plan/", person.plan, name="plan"),
    path("people/<uuid:person>/slip/", slips.account_slip, name="account_slip"),
    path("people/<uuid:person>/<slug:code>/", person.person_procedure, name="person_procedure"),
    path("people/roster/requirements/", requirements.requirements, name="requirements"),
    path("people/roster/requirements/new/", requirements.requirement_new, name="requirement_new"),
    path("people/roster/requirements/set/", requirements.role_set, name="role_set"),
    path("people/roster/requirements/<int:requirement>/end/", requirements.requirement_end, name="requirement_end"),
    path("people/roster/authority/", grants.authorities, name="authorities"),
    path("people/roster/authority/new/", grants.authority_new, name="authority_new"),
    path("people/roster/authority/founding/", grants.founding_new, name="founding_new"),
    path("people/roster/authority/<uuid:authority>/end/", grants.authority_end, name="authority_end"),
    path("people/roster/carried-over/", carried.carried_over, name="carried_over"),
    path("people/roster/carried-over/new/", carried.carried_over_new, name="carried_over_new"),
    path("people/roster/carried-over/import/", carried.carried_over_import, name="carried_over_import"),
    path("people/roster/carried-over/export/", carried.carried_over_export, name="carried_over_export"),
    path("people/roster/going-live/", going_live.going_live_page, name="going_live"),
    path("people/roster/going-live/site-facts/", setting_up.site_facts, name="site_fact_table"),
    path("people/roster/going-live/instructions/", setting_up.instructions, name="instructions_table"),
    path("people/roster/going-live/signers/", setting_up.signers, name="signer_table"),
    path("people/roster/going-live/carried-over/", setting_up.carried, name="carried_table"),
]
