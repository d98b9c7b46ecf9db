# Quillbrook Turning, long-run drill, corners matter
[tool]
id = QT-D-0080
kind = twist-drill
diameter_mm = 8

[limits]
point_angle_deg = 117 .. 119
corner_wear_a_mm = .. 0.06
corner_wear_b_mm = .. 0.06
