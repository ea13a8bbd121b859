"""Addresses of comparing lifetime cost, and of cost indexes, below those of a build."""

from django.urls import path

from .views import comparisons, indexes

patterns = [
    path("lasting/", comparisons.life_choices, name="life_choices"),
    path("lasting/add/", comparisons.life_choice_edit, name="life_choice_add"),
    path("lasting/<int:pk>/", comparisons.life_choice, name="life_choice"),
    path("lasting/<int:pk>/change/", comparisons.life_choice_edit, name="life_choice_edit"),
    path("indexes/", indexes.cost_indexes, name="cost_indexes"),
    path("indexes/add/", indexes.cost_index_edit, name="cost_index_add"),
    path("indexes/<int:pk>/", indexes.cost_index_edit, name="cost_index_edit"),
]
