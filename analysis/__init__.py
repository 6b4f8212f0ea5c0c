"""Pure computation: pitch, keywork and recordings. No web, no database, no clock, no environment."""
