"""Numbers of the trade, one file a kind, each with value, unit, spread, source and kind."""
