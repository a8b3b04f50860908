from collections import defaultdict

from django.db import migrations, models


def tell_apart(apps, schema_editor):
    """Who has the name of somebody else. It was not known before."""
    called = defaultdict(list)
    people = apps.get_model("clinic", "Person").objects
    for key, organisation, given, family in people.values_list("pk", "organisation", "given_name", "family_name"):
        called[organisation, f"{given} {family}".lower()].append(key)
    for keys in called.values():
        if len(keys) > 1:
            people.filter(pk__in=keys).update(has_namesake=True)


class Migration(migrations.Migration):
    dependencies = [("clinic", "0007_block_code")]

    operations = [
        migrations.AddField(
            model_name="person",
            name="has_namesake",
            field=models.BooleanField(
                db_comment="Worked out from the names of all people", default=False, editable=False
            ),
        ),
        migrations.RunPython(tell_apart, migrations.RunPython.noop, elidable=True),
    ]
