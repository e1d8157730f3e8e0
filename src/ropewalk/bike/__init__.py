"""The bike: chart, tubes, bars, bodies and joints, parts, frame files."""
