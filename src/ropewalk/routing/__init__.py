"""Routing: where a line runs, as stations, spans and pieces."""
