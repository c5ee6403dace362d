"""Large plans, drawn by rule: stations, junctions, yards and loops along lines with branches."""
