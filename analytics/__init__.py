"""Job history of crack injection, turned into costs, leak-back rates and flagged jobs."""
