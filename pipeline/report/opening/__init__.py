"""What a report opens with: this quarter in a few lines, the flow of everyone, the primary measures at a glance."""
