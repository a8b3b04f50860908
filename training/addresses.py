"""Addresses of training's pages: the public check page, and everything under a site, area by area."""

from django.urls import URLPattern, include, path

from training.views import (
    agreement,
    at_the_mill,
    audit,
    binders,
    carried,
    certificates,
    checks,
    correcting,
    drafts,
    facts,
    find,
    going_live,
    grants,
    judging,
    matrix,
    observe,
    observed,
    own_record,
    owner,
    papers,
    people,
    person,
    pictures,
    procedures,
    requirements,
    safeguards,
    sessions,
    setting_up,
    sheets,
    signing,
    slips,
    today,
    walk,
    who_may,
)

app_name = "training"

# Today
today_pages: list[URLPattern] = [
    path("today/", today.today, name="today"),
    path("today/who-may/", who_may.who_may, name="who_may"),
    path("today/at-the-mill/", at_the_mill.mill_today, name="at_the_mill"),
    path("today/find/", find.find_here, name="find"),
    path("people/matrix/", matrix.matrix, name="matrix"),
    path("people/matrix/<uuid:person>/<slug:code>/<str:day>/", matrix.cell, name="cell"),
]

# Judging: coverage, the week plan, learning pictures, agreement, the owner's page. Before those of people,
# whose pages of one procedure would otherwise take them
judging_pages: list[URLPattern] = [
    path("audit/owner/", owner.owner, name="owner"),
    path("audit/owner/kept/", owner.what_is_kept, name="what_is_kept"),
    path("audit/coverage/", judging.coverage, name="coverage"),
    path("audit/coverage/pdf/", judging.coverage_pdf, name="coverage_pdf"),
    path("audit/agreement/", agreement.agreement, name="agreement"),
    path("observe/<uuid:observation>/second/", agreement.second_marks, name="second_marks"),
    path("observe/week/", judging.week_plan, name="week_plan"),
    path("people/<uuid:person>/learning/", judging.learning, name="learning"),
]

# People: everybody, one person, their plan; what job roles need; authority; carried-over records
people_pages: list[URLPattern] = [
    path("people/", people.people, name="people"),
    path("people/<uuid:person>/", person.person, name="person"),
    path("people/<uuid:person>/record/", own_record.record, name="own_record"),
    path("people/<uuid:person>/record.csv", own_record.record_csv, name="own_record_csv"),
    path("people/<uuid:person>/record.json", own_record.record_json, name="own_record_json"),
    path("people/<uuid:person>/plan/", person.plan, name="plan"),
    path("people/<uuid:person>/ten-days/", person.ten_days_page, name="ten_days"),
    path("people/<uuid:person>/ten-days/pdf/", person.ten_days_pdf, name="ten_days_pdf"),
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

# Teaching: knowledge checks, talking one through, the supervisors' own questions, taught sessions
teach_pages: list[URLPattern] = [
    path("procedures/<slug:code>/check/", checks.check, name="check"),
    path("procedures/<slug:code>/check/<uuid:knowledge_result>/", checks.result, name="check_result"),
    path("procedures/<slug:code>/talk/<uuid:person>/", checks.talk, name="talk_through"),
    path("procedures/supervisor-questions/", checks.supervisor_check, name="supervisor_check"),
    path("procedures/taught/", sessions.sessions, name="sessions"),
    path("procedures/taught/new/", sessions.new, name="session_new"),
    path("procedures/taught/<uuid:taught_session>/", sessions.session, name="session"),
    path("procedures/taught/<uuid:taught_session>/correct/", sessions.correct, name="session_correct"),
]

# Procedures: the list, the walk round, one procedure with its drafts
procedures_pages: list[URLPattern] = [
    path("procedures/", procedures.procedures, name="procedures"),
    path("procedures/site-facts/", walk.walk, name="walk"),
    path("procedures/site-facts/answer/", walk.answer, name="walk_answer"),
    path("procedures/site-facts/photo/", pictures.beside_fact, name="fact_photo"),
    path("procedures/photos/<uuid:place_photo>/", pictures.photo, name="place_photo"),
    path("procedures/approve/", drafts.approve_drafts, name="approve_drafts"),
    path("procedures/<slug:code>/", procedures.procedure, name="procedure"),
    path("procedures/<slug:code>/instructions/", procedures.instructions, name="check_instructions"),
    path("procedures/<slug:code>/photo/", pictures.beside_step, name="step_photo"),
    path("procedures/<slug:code>/retire/", procedures.retire_procedure, name="retire_procedure"),
    path("procedures/<slug:code>/draft/", drafts.draft, name="draft"),
    path("procedures/<slug:code>/draft/words/", drafts.words, name="draft_words"),
    path("procedures/<slug:code>/draft/steps/", drafts.steps, name="draft_steps"),
    path("procedures/<slug:code>/draft/questions/", drafts.questions, name="draft_questions"),
    path("procedures/<slug:code>/draft/policy/", drafts.policy, name="draft_policy"),
    path("procedures/<slug:code>/draft/preview/", drafts.preview, name="draft_preview"),
    path("procedures/<slug:code>/draft/approve/", drafts.approve_draft, name="draft_approve"),
]

# Papers for the wall and the drawer
papers_pages: list[URLPattern] = [
    path("procedures/<slug:code>/wall-card/", papers.wall_card, name="wall_card"),
    path("procedures/<slug:code>/blank-checklist/", sheets.blank_checklist, name="blank_checklist"),
    path("sheets/", sheets.sheets, name="sheets"),
    path("sheets/enter/", sheets.enter, name="sheet_enter"),
    path("sheets/printed/<uuid:sheets_printed>/", sheets.printed, name="sheets_printed"),
    path("sheets/photos/<uuid:sheet_photo>/", sheets.photo, name="sheet_photo"),
    path("sheets/<uuid:sheet_entered>/", sheets.sheet, name="sheet"),
    path("upkeep/equipment/<uuid:equipment>/label/", papers.wall_label, name="wall_label"),
]

# Observe
observe_pages: list[URLPattern] = [
    path("observe/", observe.start, name="observe"),
    path("observe/begin/", observe.start, name="observe_start"),
    path("observe/bench/", observe.bench, name="bench"),
    path("observe/<uuid:observation>/", observed.observed, name="observed"),
    path("observe/<uuid:observation>/miss/", observed.miss, name="miss"),
]

# Signing, certificates and putting right
signing_pages: list[URLPattern] = [
    path("sign/<uuid:person>/<slug:code>/", signing.sign, name="sign"),
    path("withdraw/<uuid:person>/<slug:code>/", signing.withdraw, name="withdraw"),
    path("signed/<uuid:signoff>/", signing.signed, name="signed"),
    path("signed/<uuid:signoff>/certificate/", certificates.issue, name="issue_certificate"),
    path("certificates/<uuid:issue>/", certificates.certificate, name="certificate"),
    path("observe/<uuid:observation>/correct/", correcting.correct, name="correct"),
    path("take-back/<uuid:fact>/", correcting.take_back, name="take_back"),
]

# Audit: facts, findings, what is kept elsewhere, binders
audit_pages: list[URLPattern] = [
    path("facts/<uuid:fact>/", facts.fact, name="fact"),
    path("audit/", audit.audit, name="audit"),
    path("audit/actions/", audit.action, name="action"),
    path("audit/seals/", audit.seals, name="seal_check"),
    path("audit/safeguards/", safeguards.safeguard, name="safeguard"),
    path("audit/kept-elsewhere/", audit.elsewhere, name="elsewhere"),
    path("audit/kept-elsewhere/<uuid:kept_elsewhere>/", audit.elsewhere_line, name="elsewhere_line"),
    path("audit/binders/", binders.binders, name="binders"),
    path("audit/binders/jobs/<uuid:binder_job>/", binders.job, name="binder_job"),
    path("audit/binders/<uuid:issue>/", binders.binder, name="binder"),
    path("audit/binders/<uuid:issue>/pass/", binders.binder_pass, name="binder_pass"),
    path("audit/passes/<int:inspector_pass>/end/", binders.pass_end, name="pass_end"),
    path("audit/binders/<uuid:issue>/pdf/", binders.binder_pdf, name="binder_pdf"),
    path("audit/binders/<uuid:issue>/pack/", binders.binder_pack, name="binder_pack"),
]

at_site = [
    *today_pages,
    *judging_pages,
    *people_pages,
    *teach_pages,
    *procedures_pages,
    *papers_pages,
    *observe_pages,
    *signing_pages,
    *audit_pages,
]

urlpatterns = [
    path("check/<str:code>/", certificates.check, name="certificate_check"),
    path("<slug:site>/", include(at_site)),
]
