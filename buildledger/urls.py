"""All addresses."""

from django.urls import include, path

urlpatterns = [path("", include("materials.urls"))]
