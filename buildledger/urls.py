"""All addresses."""

from django.urls import include, path

urlpatterns = [path("", include("materials.urls"))]
handler400 = "buildledger.errors.not_understood"
handler500 = "buildledger.errors.went_wrong"
