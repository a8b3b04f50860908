"""Who can sign in to the demo practice. There is no default password: one is made at each start and printed once."""

import secrets

from django.contrib.auth.hashers import make_password

from clinic import clock
from clinic.actions.people import open_account
from clinic.changes import change
from clinic.models import Account, Organisation, Person

WORDS = [
    "amber",
    "anvil",
    "basalt",
    "birch",
    "cobalt",
    "copper",
    "ember",
    "fennel",
    "flint",
    "harbour",
    "hazel",
    "indigo",
    "juniper",
    "linen",
    "maple",
    "onyx",
    "pepper",
    "quartz",
    "saffron",
    "slate",
    "sorrel",
    "thistle",
    "velvet",
    "walnut",
]


def passphrase() -> str:
    """Five words drawn by the system's own randomness: about 23 bits of it, for a demo on one's own machine."""
    return "-".join(secrets.choice(WORDS) for _ in range(5))


def open_accounts(organisation: Organisation) -> str:
    """An account for everybody at work, all with one new passphrase, and opened anew: the fourteen days in which owners,
    coordinators and safety officers add a second factor begin with each start. Returns the passphrase."""
    word = passphrase()
    hashed = make_password(word)
    for person in Person.objects.filter(organisation=organisation, last_day__isnull=True):
        if not Account.objects.filter(person=person).exists():
            open_account(person, by=None, identity_checked="invented person of the demo")
    for account in Account.objects.filter(person__organisation=organisation).select_related("person__home_site"):
        account.password, account.created_at = hashed, clock.now()
        account.save(update_fields=["password"])
        said = f"Account for {account.person} opened anew, as at each start of the demo"
        change(account, site=account.person.home_site, by=None, said=said, only=["created_at"])
    return word


def who_signs_in(organisation: Organisation) -> list[tuple[str, str]]:
    """Sign-in name and what the person is, in the order in which they are worth looking at."""
    accounts = Account.objects.filter(person__organisation=organisation, person__last_day__isnull=True)
    rows = accounts.select_related("person__home_site").prefetch_related(
        "person__roles_held__job_role", "person__appointments"
    )
    return [(account.sign_in_name, described(account.person)) for account in rows.order_by("person__staff_number")]


def described(person: Person) -> str:
    roles = [held.job_role.title.lower() for held in person.roles_held.all()]
    posts = [post.get_post_display() for post in person.appointments.all()]
    return f"{person.printed_name}, {', '.join([*roles, *posts]) or 'no role'}, {person.home_site.name}"
