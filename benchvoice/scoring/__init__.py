"""What the results of a labelled corpus come to: rates with bounds, confusions, sweeps, and one run against another."""
