"""What everything else agrees on: tables, columns, groupings, policy, rules and reference values."""
