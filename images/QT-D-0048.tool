# Quillbrook Turning, pilot holes, built-in limits
[tool]
id = QT-D-0048
kind = twist-drill
material = high-speed-steel
diameter_mm = 4.8
hand = right
