"""What leaves the service: the public frame, and how it is made safe."""
