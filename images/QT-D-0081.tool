# Quillbrook Turning, long drill for the lathe's turret
[tool]
id = QT-D-0081
kind = twist-drill
diameter_mm = 8
length_mm = 117
hand = right

[limits]
point_angle_deg = 117 .. 119
