# Quillbrook Turning, spotting before all drills on the bar lathes
[tool]
id = QT-S-0060
kind = spot-drill
diameter_mm = 6

[limits]
point_angle_deg = 89 .. 91
lip_height_difference_mm = -0.03 .. 0.03
