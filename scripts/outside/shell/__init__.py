"""Independent simulator of thermal survey frames of cold insulated vessels.

Written only from the survey contract and the design note, never from the program it tests. All data are simulated.
Units: metres, seconds, kelvin differences, degrees Celsius for temperatures unless a name says `_k`, W, radians
(degrees where a name says `_deg`). World frame: X to the right, Y away from the camera, Z up, floor at Z = 0.
"""
