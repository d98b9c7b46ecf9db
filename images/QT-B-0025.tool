# Quillbrook Turning, cutting small bushings off the bar, built-in limits
[tool]
id = QT-B-0025
kind = cutoff-blade
material = high-speed-steel
width_mm = 2.5
part_has_centre_hole = yes
