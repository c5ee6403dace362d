"""What must not change a report: other ids, another order, another end called up, a mirror."""
