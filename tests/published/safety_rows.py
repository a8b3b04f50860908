"""Rows of the handbook on signatures (21 CFR 11, adopted as a voluntary benchmark) and on web safety (OWASP ASVS 5.0.0), each
with the tests that hold it, or with why nothing here does. `tests/published/test_safety_rows.py` holds that the tests exist.
"""

RECORD, GUESSING, SECOND = "clinic/test_the_record.py", "clinic/test_guessing.py", "clinic/test_second_factor.py"
ACCESS, SIGNATURES, WEB = "published/test_access.py", "published/test_signatures.py", "published/test_web_safety.py"
OWN, RECOVERY, BACKUP = "clinic/test_own_account.py", "clinic/test_recovery.py", "clinic/test_backup.py"
ACCOUNTS, LOCK, ROSTER = "clinic/test_accounts.py", "clinic/test_lock.py", "clinic/test_roster.py"
BINDER, PHOTO, ODD = "training/test_binder.py", "clinic/test_photo_limits.py", "clinic/test_odd_input.py"


def tests(module: str, *names: str) -> list[str]:
    return [f"{module}::test_{name}" for name in names]


# A list: the tests. Words: why there is none.
SIGNATURE_ROWS: dict[str, list[str] | str] = {
    "E-01": tests(RECORD, "one_changed_word_is_found_and_named", "a_deleted_fact_is_found_and_named"),
    "E-02": tests(BINDER, "its_text_holds_everybodys_record")
    + tests("training/test_checkpoints.py", "without_the_database_the_program_shows_all_three"),
    "E-03": tests(BACKUP, "a_copy_restored_into_an_empty_place_is_the_register"),
    "E-04": tests(ACCESS, "who_is_not_signed_in_reads_no_record"),
    "E-05": tests(RECORD, "a_correction_stands_in_the_place_of_what_it_names")
    + tests("house/test_record.py", "the_database_refuses_to_change_a_recorded_row")
    + tests(ROSTER, "a_change_is_recorded_with_what_was_before"),
    "E-06": tests(ACCESS, "nothing_is_signed_before_every_step_is_marked"),
    "E-07": tests(ACCESS, "a_learner_signs_nothing_with_her_own_name_and_password")
    + tests("rights/test_walk.py", "every_act_is_done_by_whoever_may_and_by_nobody_else"),
    "E-08": "No device feeds the record: everything in it was typed or tapped by a person.",
    "E-09": tests("published/test_who_may_sign.py", "a_supervisors_own_competence_is_on_record_before_signing"),
    "E-10": "No policy is accepted at the first sign-in: the practice keeps its written policy, and a paper kept elsewhere "
    "can be named on the page of inspection.",
    "E-11": tests("training/test_drafts.py", "the_database_itself_refuses_to_change_an_approved_version"),
    "E-12": tests(WEB, "behind_https_the_deployment_check_is_clean")
    + tests("training/test_checkpoints.py", "a_checkpoint_is_the_signed_head_of_the_tree"),
    "E-13": tests(SIGNATURES, "e13_the_page_shows_printed_name_time_and_meaning"),
    "E-14": tests(SIGNATURES, "e13_the_print_shows_printed_name_time_and_meaning"),
    "E-15": tests(SIGNATURES, "e15_a_signature_copied_to_another_record_is_found"),
    "E-16": tests(ACCOUNTS, "a_sign_in_name_is_never_given_to_somebody_else"),
    "E-17": tests(ACCOUNTS, "nobody_signs_before_their_identity_was_checked"),
    "E-18": "The register is no record under that part, and nothing is certified to anybody; it borrows the pattern.",
    "E-19": tests(SIGNATURES, "e19_a_session_alone_signs_nothing", "e19_a_password_alone_signs_nothing_at_first"),
    "E-20": tests(SIGNATURES, "e20_a_later_signing_of_the_session_asks_the_password_only"),
    "E-21": tests(SIGNATURES, "e21_after_an_idle_lock_both_are_asked_again"),
    "E-22": tests(RECOVERY, "a_coordinator_reads_no_code_for_an_account_that_exists", "whoever_asks_does_not_confirm"),
    "E-23": "No biometric is kept: a passkey stays on its device, which may ask for one by itself.",
    "E-24": tests(ACCESS, "a_sign_in_name_is_one_persons_whatever_its_case"),
    "E-25": tests(ACCESS, "a_password_is_as_good_after_two_years")
    + tests(ROSTER, "the_review_names_accounts_without_a_person_at_work"),
    "E-26": tests(OWN, "a_lost_device_ends_every_session") + tests(ROSTER, "a_lost_device_is_signed_out_at_once"),
    "E-27": tests("training/test_audit.py", "failed_tries_to_sign_are_shown")
    + tests(GUESSING, "the_log_says_who_guessed_from_where_and_no_password"),
    "E-28": tests(SECOND, "an_app_is_added_with_its_code_and_the_password"),
}
WEB_ROWS: dict[str, list[str] | str] = {
    "1.2.1": tests(WEB, "what_was_typed_is_shown_as_typed"),
    "1.2.4": tests(WEB, "what_was_typed_is_shown_as_typed"),
    "1.2.10": tests("clinic/test_roster_file.py", "text_that_looks_like_a_formula_is_guarded_and_reads_back"),
    "1.3.7": tests(WEB, "what_was_typed_is_shown_as_typed")
    + tests("documents/test_paper.py", "what_people_typed_is_drawn_as_typed"),
    "2.2.1": tests(ODD, "times_that_no_tablet_says_are_refused_at_the_bench"),
    "2.2.2": tests("house/test_fuzz.py", "odd_values_to_every_form_are_answered_and_nothing_is_half_recorded"),
    "2.3.1": tests("training/test_signing.py", "nothing_is_signed_while_a_piece_is_missing"),
    "2.3.3": tests(RECORD, "what_a_listener_refuses_leaves_no_fact_behind"),
    "2.4.1": tests(BINDER, "more_than_five_a_minute_are_refused"),
    "3.3.1": tests(WEB, "behind_https_the_deployment_check_is_clean"),
    "3.3.2": tests(WEB, "cookies_are_for_this_site_and_out_of_reach_of_scripts"),
    "3.3.3": tests(WEB, "behind_https_the_deployment_check_is_clean"),
    "3.3.4": tests(WEB, "cookies_are_for_this_site_and_out_of_reach_of_scripts"),
    "3.4.1": tests(WEB, "behind_https_the_deployment_check_is_clean"),
    "3.4.3": tests(WEB, "every_answer_says_what_a_browser_may_do"),
    "3.4.4": tests(WEB, "every_answer_says_what_a_browser_may_do"),
    "3.4.5": tests(WEB, "every_answer_says_what_a_browser_may_do"),
    "3.4.6": tests(WEB, "every_answer_says_what_a_browser_may_do"),
    "3.5.1": tests(WEB, "a_form_of_another_page_is_refused"),
    "3.5.3": tests("house/test_fuzz.py", "odd_values_to_every_form_are_answered_and_nothing_is_half_recorded"),
    "4.1.1": tests(WEB, "a_file_says_its_kind_its_letters_and_a_name_of_our_own"),
    "5.2.1": tests("clinic/test_csv_limits.py", "as_many_lines_as_are_said_are_read_and_one_more_is_not")
    + tests("clinic/test_serving.py", "what_no_form_sends_is_refused_by_its_length_alone"),
    "5.2.2": tests("clinic/test_upkeep_at_the_machine.py", "what_is_no_photo_is_refused_whatever_its_name_says"),
    "5.3.2": "No name that a visitor gives to a file is kept or used: photos go into the database, tables are read at once.",
    "5.4.1": tests(WEB, "a_file_says_its_kind_its_letters_and_a_name_of_our_own"),
    "5.4.2": tests(WEB, "a_file_says_its_kind_its_letters_and_a_name_of_our_own"),
    "6.1.1": tests(GUESSING, "a_hundred_and_fifteen_tries_from_one_address_shut_nobody_out_elsewhere"),
    "6.2.1": tests(ACCOUNTS, "a_password_has_at_least_fifteen_characters_of_any_kind"),
    "6.2.2": tests(OWN, "another_password_takes_the_old_one_and_ends_every_other_session"),
    "6.2.3": tests(OWN, "another_password_takes_the_old_one_and_ends_every_other_session"),
    "6.2.4": tests(ACCOUNTS, "one_word_repeated_is_no_password"),
    "6.2.5": tests(ACCOUNTS, "a_password_has_at_least_fifteen_characters_of_any_kind"),
    "6.2.7": tests(WEB, "no_script_keeps_a_password_from_being_pasted"),
    "6.2.8": tests(WEB, "a_password_is_taken_letter_by_letter"),
    "6.2.9": tests(WEB, "a_password_is_taken_letter_by_letter"),
    "6.2.10": tests(ACCESS, "a_password_is_as_good_after_two_years"),
    "6.2.12": "Held against the twenty thousand common passwords that come with the framework; a list of breached ones is too "
    "large to ship, and asking for one would send something of a password to another host.",
    "6.3.1": tests(GUESSING, "a_name_stands_at_most_a_hundred_tries_in_a_row_however_slowly_they_come"),
    "6.3.2": tests("training/test_new_practice.py", "the_first_site_needs_an_owner_and_leaves_nothing_behind_without"),
    "6.4.1": tests(ACCOUNTS, "an_invitation_ends_after_seven_days", "an_invitation_is_good_once"),
    "6.4.2": "No secret question is asked anywhere; a second person confirms (E-22).",
    "7.2.4": tests(WEB, "a_sign_in_begins_a_session_of_its_own"),
    "7.3.1": tests(LOCK, "a_session_stays_open_for_five_minutes"),
    "7.3.2": tests(LOCK, "a_session_ends_twelve_hours_after_the_sign_in_whatever_is_done_in_it"),
    "7.4.1": tests(WEB, "whoever_signs_out_is_out_with_the_old_cookie_too"),
    "7.4.2": tests(ROSTER, "a_closed_account_cannot_sign_in_and_can_be_opened_again"),
    "7.4.4": tests(WEB, "whoever_signs_out_is_out_with_the_old_cookie_too"),
    "7.5.1": tests(SECOND, "nothing_is_added_without_the_password"),
    "8.2.1": tests("rights/test_walk.py", "every_act_is_done_by_whoever_may_and_by_nobody_else"),
    "8.2.2": tests("training/test_audit.py", "everybody_reads_facts_about_oneself_and_no_others"),
    "8.2.3": tests(WEB, "a_field_that_no_form_has_is_not_heard"),
    "8.3.1": tests("rights/test_walk.py", "by_a_forged_address_nobody_undoes_a_withdrawal_in_another_procedure"),
    "8.4.1": tests("training/test_audit.py", "a_fact_of_another_site_does_not_exist_here"),
    "11.4.2": tests(WEB, "passwords_are_kept_by_a_slow_hash"),
    "11.5.1": "Sessions have 165 bits, but invitations and recovery codes are shorter, to be typed off a slip: they are good once, "
    "for days, and guessing is limited.",
    "13.4.2": tests(WEB, "behind_https_the_deployment_check_is_clean"),
    "14.2.1": "The address on an invitation's slip holds its code, which is good once and for seven days; nothing else secret "
    "stands in an address.",
    "14.3.2": tests(LOCK, "a_locked_tablet_shows_nothing_of_its_last_person"),
    "15.3.3": tests(WEB, "a_field_that_no_form_has_is_not_heard"),
    "16.2.1": tests(GUESSING, "the_log_says_who_guessed_from_where_and_no_password"),
    "16.2.2": "The log's clock has the zone that MILLROOM_TIME_ZONE names, UTC unless it is set; a line says no offset.",
    "16.3.1": "Wrong tries are logged; a sign-in that worked is a row of the sessions that its owner sees, and no line of the log.",
    "16.3.2": "A refusal at a door is answered in words and not logged: on a shared tablet it is an ordinary slip.",
    "16.3.3": tests(GUESSING, "the_log_says_who_guessed_from_where_and_no_password"),
    "16.4.1": tests(GUESSING, "the_log_says_who_guessed_from_where_and_no_password"),
    "16.4.2": "The log goes to the error output; whoever runs the register decides where it is kept, and who may change it.",
    "16.5.1": tests(WEB, "a_page_that_breaks_tells_nothing_of_the_code"),
    "16.5.3": tests("clinic/test_cannot_write.py", "nobody_is_signed_in_while_guesses_cannot_be_counted"),
}
