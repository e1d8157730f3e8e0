"""Ropewalk: cut lists for bicycle cable housing, inners and liners, worked out before anything is cut."""

from importlib.metadata import version

__version__ = version("ropewalk")
