"""Addresses of takeoffs, below those of a build."""

from django.urls import path

from . import views

patterns = [
    path("takeoffs/", views.takeoffs, name="takeoffs"),
    path("takeoffs/add/", views.takeoff_shapes, name="takeoff_shapes"),
    path("takeoffs/add/<slug:shape>/", views.takeoff_add, name="takeoff_add"),
    path("takeoffs/<int:pk>/", views.takeoff, name="takeoff"),
    path("takeoffs/<int:pk>/change/", views.takeoff_edit, name="takeoff_edit"),
    path("takeoffs/<int:pk>/use/<slug:figure>/", views.takeoff_use, name="takeoff_use"),
    path(
        "takeoffs/<int:pk>/uses/<int:use>/remove/",
        views.takeoff_use_remove,
        name="takeoff_use_remove",
    ),
]
