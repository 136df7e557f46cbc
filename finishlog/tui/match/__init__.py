"""Match: measures of an addition, the plan, its joint and sketch."""
