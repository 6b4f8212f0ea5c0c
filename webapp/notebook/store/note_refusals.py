"""Refusals that quote notes: a page shows these by their signs, a command in words."""

from analysis.errors import AnalysisError
from analysis.pitch import AmbiguousPitch, NoteNames, Sentence, UnreadablePitch
from webapp.notebook.store.errors import FieldRefused


class NoteRefused(FieldRefused):
    """One form field cannot be kept; `said` is why, for where notes can stand as signs."""

    def __init__(
        self,
        field: str,
        said: Sentence,
        names: NoteNames = NoteNames.ENGLISH,
        *,
        message: str = "",
        choices: tuple[tuple[str, str], ...] = (),
    ) -> None:
        """Tell it as `message` where only text can be, else as `said` in words of `names`."""
        super().__init__(field, message or said.in_words(names), choices)
        self.said = said


def refuse_text(field: str, error: AnalysisError) -> FieldRefused:
    """Return the refusal of what was typed in a field, with what may have been meant."""
    if not isinstance(error, AmbiguousPitch | UnreadablePitch):
        return FieldRefused(field, str(error))
    choices = tuple((each, each) for each in error.candidates)
    return NoteRefused(field, Sentence(error.beside_choices), message=str(error), choices=choices)


def said_of(error: Exception) -> Sentence:
    """Return a refusal as a page shows it."""
    return error.said if isinstance(error, NoteRefused) else Sentence(str(error))
