"""What to do about a planned crack: pure rules over frames, no store, no screen."""
