"""All addresses."""

from django.urls import include, path

urlpatterns = [path("", include("materials.urls"))]
handler400 = "buildledger.errors.not_understood"
handler403 = "buildledger.errors.refused"
handler404 = "buildledger.errors.not_found"
# Where the cause is outside the program, in words and with what was typed.
handler500 = "materials.views.outages.server_error"
