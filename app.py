"""The page's script: `ropewalk page` or `streamlit run app.py` runs it."""

from ropewalk.page.router import run

run()
