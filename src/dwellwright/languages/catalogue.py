"""A language's catalogue (gettext, .po) and how a text finds its sentence in it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from importlib.resources import files

from dwellwright.languages.language import HOME, spoken
from dwellwright.languages.sentence import NUMBER, SLOT, filled, has_words, numbered

SENTENCES = re.compile(r"(?<=[.!?…])\s+|(?<=;) ")
"""Where one text ends and the next begins: each is looked up by itself."""

PHRASES = tuple(map(re.compile, (r"(: )", r"( · )", r"( – )", r"( [(]|[)](?: |$))", r"(, )", r"( / )")))
"""Where a sentence that is not listed may be a list of phrases that are."""

_EDGE = " .,:;·–…!?*•"
OWN = "own"
"""A slot whose name begins so holds what somebody typed, or a name: it is passed on as it is."""


class Catalogue:
    """Sentences and their translations.

    Args:
        entries: translation by English sentence, numbers as `{0}` …, phrases as `{name}`.

    >>> words = Catalogue({"{0} turns": "{0} vueltas", "Turn {what} in": "Meta {what}", "the screw": "el tornillo"})
    >>> words.translated("2.5 turns. Turn the screw in"), words.translated("Other")
    ('2.5 vueltas. Meta el tornillo', 'Other')
    """

    def __init__(self, entries: Mapping[str, str]) -> None:
        self.exact = dict(entries)
        self.spoken_already = {SLOT.sub("{}", one) for one in entries.values()}
        named = [
            pair for pair in entries.items() if any(not name.isdigit() for name in SLOT.findall(pair[0]))
        ]
        longest = sorted(named, key=lambda pair: -len(SLOT.sub("", pair[0])))
        self.patterns = [(_literals(one), _pattern(one), other) for one, other in longest]
        self.patterns += [(_literals(other), _pattern(other), other) for _, other in longest]
        self.unlisted: set[str] | None = None
        self._remembered = lru_cache(maxsize=20_000)(self._text)

    def translated(self, text: str) -> str:
        """The text in this language; what is not listed stays English and goes into `unlisted` if there is one."""
        found, missing = self._remembered(text)
        if self.unlisted is not None:
            self.unlisted.update(missing)
        return found

    def _text(self, text: str) -> tuple[str, tuple[str, ...]]:
        """A text of one or more sentences, and the sentences that are not listed."""
        if not has_words(text):
            return text, ()
        whole = self._sentence(text)
        if whole is not None:
            return whole, ()
        parts = SENTENCES.split(text)
        if len(parts) == 1:
            return text, tuple(self._unlisted(" ".join(text.split())))
        gaps = SENTENCES.findall(text)
        done = [self._remembered(part) for part in parts]
        joined = "".join(part[0] + gap for part, gap in zip(done, [*gaps, ""], strict=True))
        return joined, tuple(one for part in done for one in part[1])

    def _unlisted(self, text: str) -> list[str]:
        """What of a sentence is not listed: itself, or of `this: that` only the half that is not."""
        parts = [
            part for part in re.split(r": | · ", text) if has_words(part) and self._sentence(part) is None
        ]
        return [core for part in parts if (core := _core(part))]

    def _sentence(self, text: str) -> str | None:
        """One sentence or phrase, as listed or made of what is listed; None where it is neither."""
        plain = " ".join(text.split())
        if not has_words(plain):
            return text
        for look in (self._listed, self._without_edges, self._matched, self._phrases):
            if (found := look(plain)) is not None:
                lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
                return lead + found + tail
        return None

    def _listed(self, text: str) -> str | None:
        """The sentence itself, also with its first letter made large or small; as it is if it was translated before."""
        key, numbers = numbered(text)
        values = {str(place): number for place, number in enumerate(numbers)}
        if key in self.exact:
            return filled(self.exact[key], values)
        turned = key[:1].swapcase() + key[1:]
        if turned in self.exact:
            found = filled(self.exact[turned], values)
            return (found[:1].upper() if key[:1].isupper() else found[:1].lower()) + found[1:]
        bare = SLOT.sub("{}", key)
        said = bare in self.spoken_already or bare[:1].swapcase() + bare[1:] in self.spoken_already
        return text if said else None

    def _without_edges(self, text: str) -> str | None:
        """The sentence without the stops and brackets around it."""
        core = _core(text)
        if core == text or not core:
            return None
        start = text.index(core)
        found = self._sentence(core)
        return None if found is None else text[:start] + found + text[start + len(core) :]

    def _matched(self, text: str) -> str | None:
        """The sentence by a listed one with slots for words; what fills them is translated too."""
        for literals, pattern, translation in self.patterns:
            if not all(one in text for one in literals) or not (match := pattern.fullmatch(text)):
                continue
            values = {}
            for name, words in match.groupdict().items():
                known: str | None = words
                if name[0] != "n" or not name[1:].isdigit():
                    known = (
                        (words if _is_whole(words) else None)
                        if name.startswith(OWN)
                        else self._sentence(words)
                    )
                if known is None:
                    break
                values[name.removeprefix("n") if name[1:].isdigit() else name] = known
            else:
                return filled(translation, values)
        return None

    def _phrases(self, text: str) -> str | None:
        """The sentence as a list of phrases, where every one of them is listed."""
        for cut in PHRASES:
            parts = cut.split(text)
            if len(parts) == 1:
                continue
            done = [part if place % 2 else self._sentence(part) for place, part in enumerate(parts)]
            if all(one is not None for one in done):
                return "".join(one for one in done if one is not None)
        return None


def _is_whole(words: str) -> bool:
    """Whether every bracket within the words opens and closes there: what does not is no name in brackets.

    >>> _is_whole("gas.csv (2)"), _is_whole("limit 220), CO 0.9 % (limit 1.2")
    (True, False)
    """
    depth = 0
    for letter in words:
        depth += (letter == "(") - (letter == ")")
        if depth < 0:
            return False
    return True


def _core(text: str) -> str:
    """The text without the stops around it, and without brackets that enclose it or have no partner."""
    core = text.strip(_EDGE)
    if core[:1] == "(" and (core.count("(") != core.count(")") or core[-1:] == ")"):
        core = core[1:-1] if core[-1:] == ")" else core[1:]
    elif core[-1:] == ")" and core.count("(") != core.count(")"):
        core = core[:-1]
    return core if core == text else _core(core)


def _literals(sentence: str) -> tuple[str, ...]:
    """What of a sentence with slots stands in every text that it fits."""
    return tuple(part for part in SLOT.split(sentence)[::2] if part)


def _pattern(sentence: str) -> re.Pattern[str]:
    """The form of texts that a sentence with slots fits."""
    parts = SLOT.split(sentence)
    form = ""
    for place, part in enumerate(parts):
        if place % 2 == 0:
            form += re.escape(part)
        else:
            form += rf"(?P<n{part}>{NUMBER})" if part.isdigit() else rf"(?P<{part}>.+?)"
    return re.compile(form)


@cache
def catalogue(language: str) -> Catalogue:
    """The catalogue of a language; English has an empty one."""
    if language == HOME:
        return Catalogue({})
    from babel.messages.pofile import read_po

    with files("dwellwright.languages").joinpath("data", f"{language}.po").open("rb") as file:
        messages: Iterable[object] = read_po(file)
        entries = {one.id: one.string for one in messages if one.id and one.string and not one.fuzzy}  # type: ignore[attr-defined]
    return Catalogue(entries)


def translated(text: str) -> str:
    """The text in the language spoken now."""
    return text if spoken() == HOME else catalogue(spoken()).translated(text)
