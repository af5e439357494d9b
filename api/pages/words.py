"""Every word a reader sees, in the language of the house.

The English sentence is its own key (gettext's manner). Catalogues lie in ``locale/`` as text and
are compiled when first asked for, so that no compiled file has to be kept beside them.
"""

from __future__ import annotations

import gettext
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources

SOURCE = "en"
DOMAIN = "papers"
LANGUAGES = {"en": "English", "es": "Español"}
"""Languages that are complete; a test holds them to it."""

RIGHT_TO_LEFT = frozenset({"ar", "fa", "he", "ur"})
BETWEEN_LANGUAGES = " / "

COMPOSED = (
    "mixing work of {name}",
    "read the dough temperature when it comes off {name}",
    "moisture of the flour in {name}",
    "how {name} answers to temperature",
    "shaping time per piece of {name}",
    "usual for a {name} mixer",
    "usual {name} ice",
    "usual {name}",
    "wetting of {name}",
    "dissolving of {name}",
    "melting of the fat in {name}",
)
"""Sentences that the core hands out with a name already in them."""


@cache
def catalogue(language: str) -> gettext.NullTranslations:
    """Return the catalogue of a language; English needs none.

    Raises
    ------
    LookupError
        If there is no such language; the message lists those there are.
    """
    if language not in LANGUAGES:
        known = ", ".join(LANGUAGES)
        raise LookupError(f"There is no language {language!r}; there are: {known}.")
    if language == SOURCE:
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo  # noqa: PLC0415  (paid for when it is needed)
    from babel.messages.pofile import read_po  # noqa: PLC0415  (the same)

    folder = resources.files("api.pages").joinpath("locale", language, "LC_MESSAGES")
    text = folder.joinpath(f"{DOMAIN}.po").read_bytes()
    compiled = io.BytesIO()
    write_mo(compiled, read_po(io.BytesIO(text), locale=language))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a house: a language, perhaps a second beside it, and its own trade words.

    Attributes
    ----------
    language, second
        Language of a paper, and of what stands behind a stroke beside each word; None for one
        language.
    aliases
        What the house calls a thing, by the word printed otherwise: ``{"levain": "sour"}``.
        Names that the bakery entered itself stay as they are.

    Examples
    --------
    >>> Words()("divide by {time}", time="05:18")
    'divide by 05:18'
    >>> Words(aliases={"levain": "sour"})("levain °C")
    'sour °C'
    """

    language: str = SOURCE
    second: str | None = None
    aliases: Mapping[str, str] = field(default_factory=dict)

    @property
    def direction(self) -> str:
        """Direction in which the language is written, as HTML names it."""
        return "rtl" if self.language in RIGHT_TO_LEFT else "ltr"

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages, the first first."""
        return (self.language,) if self.second is None else (self.language, self.second)

    def __call__(self, text: str, **figures: object) -> str:
        """Return a sentence in the house's words with its figures filled in."""
        if not text:
            return ""
        return _side_by_side(
            self._filled(catalogue(language).gettext(text), figures) for language in self.languages
        )

    def many(self, one: str, several: str, count: int) -> str:
        """Return the form of a counted thing that fits the count, with ``{n}`` filled in."""
        return _side_by_side(
            self._filled(catalogue(language).ngettext(one, several, count), {"n": count})
            for language in self.languages
        )

    def listed(self, text: str) -> str:
        """Return a word, or words with commas or "or" between them, each in the house's own.

        Examples
        --------
        >>> Words("es").listed("first speed or second speed")
        'primera velocidad o segunda velocidad'
        """
        say = self
        whole = say(text)
        if whole != text:
            return whole
        if ", " in text:
            return ", ".join(say.listed(part) for part in text.split(", "))
        if " or " in text:
            between = say("or")
            return f" {between} ".join(say(part) for part in text.split(" or "))
        return whole

    def composed(self, text: str) -> str:
        """Return a sentence that comes with a name already in it.

        Examples
        --------
        >>> Words("es").composed("moisture of the flour in silo")
        'humedad de la harina en silo'
        """
        whole = self(text)
        if whole != text:
            return whole
        for template in COMPOSED:
            before, after = template.split("{name}")
            if text.startswith(before) and text.endswith(after):
                name = text[len(before) : len(text) - len(after)]
                return self(template, name=self(name))
        return whole

    def only(self, language: str) -> Words:
        """Return the same words in one language."""
        return Words(language, None, self.aliases)

    def _filled(self, text: str, figures: Mapping[str, object]) -> str:
        for usual, own in self.aliases.items():
            text = re.sub(rf"(?<![\w{{]){re.escape(usual)}(?![\w}}])", own, text)
        return text.format(**figures) if figures else text


def _side_by_side(texts: Iterable[str]) -> str:
    return BETWEEN_LANGUAGES.join(dict.fromkeys(texts))
