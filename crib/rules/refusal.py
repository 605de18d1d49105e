"""A refusal: why an act was not done, as a stable code and as a sentence for people."""

from __future__ import annotations

from collections.abc import Sequence

from crib.rules.finding import Finding


class Refused(Exception):
    """An act was refused; nothing was written.

    code      stable, `subject.case`, for tests and scripts
    text      what happened, with the numbers
    remedy    what to do next
    field     name of the form field at fault, "" when it is none
    findings  the rules' answers behind the refusal
    """

    def __init__(
        self,
        code: str,
        text: str,
        remedy: str = "",
        *,
        field: str = "",
        findings: Sequence[Finding] = (),
    ) -> None:
        super().__init__(text)
        self.code = code
        self.text = text
        self.remedy = remedy
        self.field = field
        self.findings = tuple(findings)

    @property
    def sentence(self) -> str:
        return f"{self.text} {self.remedy}".strip()


class NotAllowed(Refused):
    """The person does not hold the permission the act needs."""

    def __init__(self, permission: str) -> None:
        super().__init__("person.not_allowed", "You may not do this.")
        self.permission = permission
