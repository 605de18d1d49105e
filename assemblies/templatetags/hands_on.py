"""The strip of hands and eyes after a load, wherever a page wants it."""

from __future__ import annotations

from django import template

from assemblies.actions.after_checks import values_of
from assemblies.forms.checks import HandsOnForm
from assemblies.models import HandsOnCheck, SpindleCheck
from assemblies.rules.cautions import FOOTER, HANDS_ON, steps_done

register = template.Library()


@register.inclusion_tag("assemblies/_hands_on.html", takes_context=True)
def hands_on(context, check: SpindleCheck, form: HandsOnForm | None = None) -> dict:
    """The strip for one load: to be answered, or what was answered. `form` is one that failed."""
    answered = HandsOnCheck.objects.filter(spindle_check=check).first()
    form = form or HandsOnForm()
    ticked = set(form["done"].value() or ())
    steps = [(step, step.key in ticked) for step in HANDS_ON]
    return {
        "csrf_token": context.get("csrf_token"),
        "check": check,
        "answered": answered,
        "said": steps_done(answered.done) if answered else (),
        "before": [pair for pair in steps if pair[0].before],
        "after": [pair for pair in steps if not pair[0].before],
        "values": values_of(check.build),
        "form": form,
        "may_answer": context["request"].user.may("check.decide"),
        "footer": FOOTER,
    }
