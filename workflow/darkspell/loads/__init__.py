"""What the appliances ask for: the arithmetic of the budget, and random hours that are true to it."""
