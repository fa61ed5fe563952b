"""Every error that the package raises on purpose.

SpawnwrightError                     a shell catches this one, and no other
├── Unusable          (ValueError)   input that cannot be used; exit code 2
│   ├── OutOfRange                   a number that a model was not made for
│   ├── NotAQuantity                 text that is no quantity of the kind that is needed
│   ├── UnknownName                  a name that no catalog holds; offers the nearest
│   │   └── AmbiguousName            a name that fits more than one entry; offers those
│   ├── BadFile                      a file that cannot be read as what it should be; says where
│   └── Contradiction                two inputs that cannot both be true
└── MissingSource     (LookupError)  a constant whose source is not in the bibliography

The text of each is one clear sentence, fit to show to a grower: what, which value, what would do.
Whatever else is raised is a bug in the program, and is shown as one.
"""


class SpawnwrightError(Exception):
    """Base of all deliberate errors."""


class Unusable(SpawnwrightError, ValueError):
    """Input that cannot be used; nothing has been changed or written."""


class OutOfRange(Unusable):
    """A value lies outside the range in which a model holds."""

    def __init__(self, what: str, value: float, low: float, high: float, unit: str) -> None:
        unit = f" {unit}" if unit else ""
        super().__init__(f"{what} is {value:g}{unit}; this holds from {low:g} to {high:g}{unit}.")
        self.what, self.value, self.low, self.high, self.unit = what, value, low, high, unit


class NotAQuantity(Unusable):
    """A text is no quantity of the kind that was asked for."""


class UnknownName(Unusable):
    """A name is in no catalog; `nearest` are those that look most like it."""

    def __init__(self, kind: str, name: str, nearest: tuple[str, ...], how: str = "") -> None:
        offer = f" Did you mean {' or '.join(nearest)}?" if nearest else ""
        super().__init__(f"There is no {kind} called {name!r}.{offer}{' ' + how if how else ''}")
        self.kind, self.name, self.nearest = kind, name, nearest


class AmbiguousName(UnknownName):
    """A name fits more than one entry of a catalog, and which one matters; `nearest` are those."""

    def __init__(self, kind: str, name: str, entries: tuple[str, ...]) -> None:
        Unusable.__init__(
            self,
            f"{name!r} could be {' or '.join(entries)}, and the answers differ; say which {kind}.",
        )
        self.kind, self.name, self.nearest = kind, name, entries


class BadFile(Unusable):
    """A file cannot be read as what it should be; the text names the place in it."""


class Contradiction(Unusable):
    """Two inputs cannot both be true, or cannot be used together."""


class MissingSource(SpawnwrightError, LookupError):
    """A constant names a source that the bibliography does not hold."""
