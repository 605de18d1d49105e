"""The form by which a program is handed in: the file first, then what it is called."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from assemblies.actions.program_proposal import HEAD_BYTES, Proposal, proposal_for
from assemblies.forms.programs import ProgramForm

#: Fields that stand first and last in the page: a sending without the last one was cut off.
FIRST_FIELD, LAST_FIELD = "begins", "ends"


class UploadForm(ProgramForm):
    """Name and revision mark may be left empty: they are proposed, and sent once more."""

    field_order = ["file", "pasted", "name", "label", "title"]

    def __init__(self, data=None, *args, **kwargs) -> None:
        # A proposal is written beside what was typed.
        super().__init__(data.copy() if data is not None else None, *args, **kwargs)
        self.fields["name"].required = self.fields["label"].required = False
        self.fields["name"].help_text = "As HM-0412. Empty: proposed from the file."
        self.fields["label"].help_text = "The shop's mark, as B. Empty: the next one is proposed."
        self.fields["file"].error_messages["empty"] = (
            "The file is empty. Export the program again and give that file."
        )

    def clean(self):
        if self.data.get(FIRST_FIELD) and not self.data.get(LAST_FIELD):
            raise ValidationError("The sending was cut off before its end. Send it again.")
        cleaned = super().clean()
        if not {"file", "pasted"} & self.errors.keys():
            self._propose_what_is_empty(cleaned)
        return cleaned

    def _propose_what_is_empty(self, cleaned: dict) -> None:
        empty = [n for n in ("name", "label") if n not in self.errors and not cleaned.get(n)]
        if not empty:
            return
        proposal = self._proposal(cleaned.get("name", ""))
        if proposal.refused:
            self.add_error("file" if cleaned.get("file") else "pasted", proposal.refused)
            return
        for name, value in (("name", proposal.name), ("label", proposal.mark)):
            if name in empty:
                self.data[name] = value
                self.add_error(name, self._asked_again(name, value))

    def _proposal(self, typed_name: str) -> Proposal:
        file = self.cleaned_data.get("file")
        if not file:
            return proposal_for(self.cleaned_data["pasted"].encode()[:HEAD_BYTES], "", typed_name)
        head = file.read(HEAD_BYTES)
        file.seek(0)
        return proposal_for(head, file.name, typed_name)

    def _asked_again(self, name: str, value: str) -> str:
        words = "name" if name == "name" else "revision"
        if not value:
            return f"The {words} is empty, and the file names none."
        again = " Pick the file once more." if self.cleaned_data.get("file") else ""
        return f"{value} is proposed. Look at it.{again} Then press “Read it”."
