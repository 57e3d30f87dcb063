"""Line drawings, made on the server from the bike's data: every picture has the same in words."""
