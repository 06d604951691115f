"""Of whom a figure is: who is still waiting, who was not heard from."""
