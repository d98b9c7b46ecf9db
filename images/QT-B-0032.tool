# Quillbrook Turning, cutting spacers off the bar; before and after a regrind
[tool]
id = QT-B-0032
kind = cutoff-blade
material = high-speed-steel
width_mm = 3.25
min_length_mm = 80
part_has_centre_hole = yes

[limits]
side_rake_deg = 5.5 .. 8.5
