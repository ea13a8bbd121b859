"""Addresses."""

urlpatterns = []
