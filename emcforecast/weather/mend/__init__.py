"""What is repaired in a weather series: gaps, impossible values, coarser steps."""
