"""Questions about the people: how long they may leave, and what it brings that they save."""
