"""The diagram and the wall chart."""
