"""The commands, one file each: measure, judge, keep, show, exit."""
