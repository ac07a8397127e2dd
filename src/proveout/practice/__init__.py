"""Practice: a vehicle with a hidden fault, computed by the same network, for apprentices."""
