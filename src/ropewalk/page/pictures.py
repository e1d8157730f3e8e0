"""Pictures in two widths: as they are saved, and for a phone, where their words would be too small to read."""

from __future__ import annotations

import streamlit


def show_picture(name: str, wide: str, narrow: str, alt: str) -> None:
    """Show a picture; which of the two is seen, the style decides by the width of the screen.

    Parameters
    ----------
    name : str
        Of the picture on its page.
    wide, narrow : str
        The picture as SVG text.
    alt : str
        What it shows, for those who cannot see it.
    """
    for width, picture in (("wide", wide), ("narrow", narrow)):
        with streamlit.container(key=f"{width}-picture-{name}"):
            streamlit.image(picture, width="stretch", alt=alt)
