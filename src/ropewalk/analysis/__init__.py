"""Findings: windows, tolerances, friction and clearance of a routing."""
