"""What every pad does until the firmware is in charge."""
