from django.apps import AppConfig


class TrainingConfig(AppConfig):
    """The program: what must be mastered, what was seen, what was signed."""

    name = "training"
    verbose_name = "Training"

    def ready(self) -> None:
        from django.core.checks import register  # noqa: PLC0415
        from django.db.models.signals import post_delete, post_save  # noqa: PLC0415

        from clinic import port  # noqa: PLC0415
        from clinic.permissions import SOURCES  # noqa: PLC0415 - models load only after the registry is ready
        from clinic.record import fact_recorded  # noqa: PLC0415
        from clinic.seals import REGISTER_PARTS, SITE_PARTS  # noqa: PLC0415
        from training.computed_now import fresh  # noqa: PLC0415
        from training.finding_spans import DECIDING, refresh_after_standing, wait_after_change  # noqa: PLC0415
        from training.finding_spans import refresh_after as refresh_findings_after  # noqa: PLC0415
        from training.models import read_through  # noqa: PLC0415
        from training.paper_key import looked_at  # noqa: PLC0415
        from training.papers import kept_papers  # noqa: PLC0415
        from training.permissions import ByAuthority, ByPass  # noqa: PLC0415
        from training.port import Answers  # noqa: PLC0415
        from training.reference import register as register_reference  # noqa: PLC0415
        from training.rights import register as register_rights  # noqa: PLC0415
        from training.spans import refresh_after, standing_changed  # noqa: PLC0415
        from training.timelines import stored_timelines  # noqa: PLC0415

        SOURCES.extend([ByAuthority(), ByPass()])
        register_rights()
        register_reference()
        port.answer_with(Answers())
        register(looked_at)
        SITE_PARTS.append(kept_papers)
        REGISTER_PARTS.append(stored_timelines)
        read_through.ask(fresh)
        fact_recorded.connect(refresh_after, dispatch_uid="standing spans")
        standing_changed.connect(refresh_after_standing, dispatch_uid="findings by standing")
        fact_recorded.connect(refresh_findings_after, dispatch_uid="findings by fact")
        for model in DECIDING:
            post_save.connect(wait_after_change, sender=model, dispatch_uid=f"findings wait for {model.__name__}")
            post_delete.connect(wait_after_change, sender=model, dispatch_uid=f"findings wait without {model.__name__}")
