"""The diagram and the wall chart: from a plan to SVG, HTML and PDF."""
