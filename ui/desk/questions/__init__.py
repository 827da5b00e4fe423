"""What can be asked beyond the balanced mix, one question a module, and the outcome itself."""
