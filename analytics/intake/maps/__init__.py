"""Column maps: how a business's own headers, units, days and words become the contract's."""
