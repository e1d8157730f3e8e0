"""The browser page."""
