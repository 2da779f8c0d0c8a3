"""What each fault does to each line; the issued plan is taken as fixed."""
