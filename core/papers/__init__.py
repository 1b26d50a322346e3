"""What stands on paper, as plain blocks without Qt: takeoff, wiring points, start-up, service, report."""
