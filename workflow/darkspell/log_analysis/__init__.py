"""A monitor's log held against the study: what differs, how sure that is, and what cannot be told."""
