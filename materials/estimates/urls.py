"""Addresses of estimates, below those of a build."""

from django.urls import path

from . import views

patterns = [
    path("estimates/", views.estimates, name="estimates"),
    path("estimates/add/", views.estimate_add, name="estimate_add"),
    path("estimates/<int:pk>/", views.estimate_page, name="estimate"),
    path("estimates/<int:pk>/use/", views.estimate_use, name="estimate_use"),
]
