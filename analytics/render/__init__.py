"""Pages shown: on the screen and in the terminal, from the same parts."""
