"""The pages there are, and what they share: title, icon and style."""

from pathlib import Path

import streamlit

from ropewalk.page import bench

_HERE = Path(__file__).resolve().parent


def run() -> None:
    """Show the page that the browser asks for."""
    streamlit.set_page_config(
        page_title="Ropewalk",
        page_icon=str(_HERE / "icon.svg"),
        layout="wide",
        menu_items={"Get help": None, "Report a bug": None, "About": None},
    )
    streamlit.html(_HERE / "style.css")
    pages = [streamlit.Page(bench.show, title="Cut list", url_path="cut-list", default=True)]
    streamlit.navigation(pages, position="hidden").run()
