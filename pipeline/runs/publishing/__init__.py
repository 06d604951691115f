"""What a release is made from: the public part of the session, its counts, its facts."""
