"""Addresses of the sourcing plan, below those of a build."""

from django.urls import path

from . import views

patterns = [
    path("sourcing/", views.sourcing, name="sourcing"),
]
