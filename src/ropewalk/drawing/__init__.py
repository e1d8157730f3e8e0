"""Drawing: scenes of plain shapes, and their rendering."""
