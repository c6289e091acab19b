"""The arithmetic of soap, one rule a column of workings."""
