"""What stands on each page, as frozen data, before anything is drawn."""
