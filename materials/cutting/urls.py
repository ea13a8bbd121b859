"""Addresses of cutting plans, below those of a build."""

from django.urls import path

from . import views

patterns = [
    path("cutting/", views.cutting_plans, name="cutting_plans"),
    path("cutting/add/", views.cutting_plan_edit, name="cutting_plan_add"),
    path("cutting/<int:pk>/", views.cutting_plan, name="cutting_plan"),
    path("cutting/<int:pk>/change/", views.cutting_plan_edit, name="cutting_plan_edit"),
    path("cutting/<int:pk>/take/", views.cutting_plan_take, name="cutting_plan_take"),
]
