"""The errors Ropewalk raises; each is also the builtin kind a caller would expect.

::

    RopewalkError
    ├── FrameFileError (ValueError)   a frame file that cannot be read or used
    │   └── ChartError                a geometry chart that contradicts itself or cannot be built
    ├── PartError (LookupError)       a part that the catalogue does not hold, or a catalogue that is wrong
    ├── ChoiceError (ValueError)      a setting outside what can be planned
    ├── DryFitError (ValueError)      what was found at a dry fit, and cannot be read or does not go with the bike
    └── OutputError (OSError)         a result that cannot be written

Every message is one line: what is wrong, where (file, field, value with unit) and what to do.
"""


class RopewalkError(Exception):
    """Any error that a user can mend; its text is one line."""


class FrameFileError(RopewalkError, ValueError):
    """A frame file that cannot be read or used.

    Attributes
    ----------
    path : tuple of int and str, or None
        The field at fault, such as ``("line", 0, "station", 3, "along")``, where the reader can tell.
    """

    def __init__(self, text: str = "", path: tuple[int | str, ...] | None = None) -> None:
        super().__init__(text)
        self.path = path


class ChartError(FrameFileError):
    """A geometry chart that contradicts itself or cannot be built."""


class PartError(RopewalkError, LookupError):
    """A part that the catalogue does not hold, or a catalogue that is wrong."""


class ChoiceError(RopewalkError, ValueError):
    """A setting outside what can be planned."""


class DryFitError(RopewalkError, ValueError):
    """What was found at a dry fit, and cannot be read or does not go with the bike."""


class OutputError(RopewalkError, OSError):
    """A result that cannot be written."""
