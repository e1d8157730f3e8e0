"""The page's colours and sizes, light and dark, as the server's configuration takes them.

Text on its ground has a contrast of at least 4.5 to 1 in both.
"""

from collections.abc import Mapping
from types import MappingProxyType

#: options of the server; a browser shows light or dark as its user prefers
THEME: Mapping[str, str | int | bool] = MappingProxyType(
    {
        # With 18 px to the rem a button is 45 px high: enough for a gloved thumb.
        "theme.baseFontSize": 18,
        "theme.baseRadius": "0.4rem",
        "theme.showWidgetBorder": True,
        "theme.light.primaryColor": "#0d5c6b",
        "theme.light.backgroundColor": "#fbf9f4",
        "theme.light.secondaryBackgroundColor": "#f0ece1",
        "theme.light.textColor": "#1b2427",
        "theme.light.linkColor": "#0d5c6b",
        "theme.light.borderColor": "#8d9490",
        "theme.dark.primaryColor": "#6cc3cf",
        "theme.dark.backgroundColor": "#13191c",
        "theme.dark.secondaryBackgroundColor": "#1e272b",
        "theme.dark.textColor": "#ece8de",
        "theme.dark.linkColor": "#6cc3cf",
        "theme.dark.borderColor": "#76807f",
    }
)
