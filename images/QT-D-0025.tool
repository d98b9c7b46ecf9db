# Quillbrook Turning, stainless, blunt point
[tool]
id = QT-D-0025
kind = twist-drill
diameter_mm = 2.5

[limits]
point_angle_deg = 133 .. 137
