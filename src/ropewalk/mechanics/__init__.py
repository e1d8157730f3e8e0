"""The rod, the taut path, the capstan: mechanics without a bicycle."""
