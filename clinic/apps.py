from django.apps import AppConfig

from clinic.forms.sentences import say_plainly


class ClinicConfig(AppConfig):
    """The practice: its sites, its people, its equipment and what is done to it."""

    name = "clinic"
    verbose_name = "Clinic"

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_in  # noqa: PLC0415 - models load only after the registry is ready
        from django.db.models.signals import post_migrate  # noqa: PLC0415

        from clinic import checkpoints, factor_check, factors, lock, replay, seals, sessions  # noqa: PLC0415
        from clinic.models.refusal import install_refusals, write_shapes  # noqa: PLC0415

        say_plainly()
        seals.SITE_PARTS.append(checkpoints.kept_heads)
        seals.REGISTER_PARTS.append(checkpoints.heads_of_no_site)
        seals.REGISTER_PARTS.append(factor_check.strange_factors)
        seals.REGISTER_PARTS.append(replay.replayed)
        # it is sent once for each application, after the last migration of all of them: once is enough
        post_migrate.connect(install_refusals, sender=self, dispatch_uid="refusals")
        post_migrate.connect(write_shapes, sender=self, dispatch_uid="shapes of seals")
        user_logged_in.connect(lock.begin, dispatch_uid="lock")
        user_logged_in.connect(factors.begin, dispatch_uid="second factor")
        user_logged_in.connect(sessions.begin, dispatch_uid="session")
