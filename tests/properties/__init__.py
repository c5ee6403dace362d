"""Changes that must not change a report: new ids, another order, up for down, left for right."""
