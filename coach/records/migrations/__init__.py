"""How the tables came to be what they are: one step a file, run in order when a store is opened."""
