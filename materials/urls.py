"""Addresses."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from .views import builds, components, files, labour, purchases, records, stock

_build = [
    path("", builds.cost_sheet, name="cost_sheet"),
    path("details/", builds.build_edit, name="build_edit"),
    path("figures/<slug:name>/", builds.figure, name="figure"),
    path("elements/", builds.elements, name="elements"),
    path("elements/add/", builds.element_edit, name="element_add"),
    path("elements/<int:pk>/", builds.element_edit, name="element_edit"),
    path("components/", components.components, name="components"),
    path("components/add/", components.component_edit, name="component_add"),
    path("components/<int:pk>/", components.component, name="component"),
    path("components/<int:pk>/change/", components.component_edit, name="component_edit"),
    path("prices/", components.prices, name="prices"),
    path("prices/add/", components.price_edit, name="price_add"),
    path("prices/<int:pk>/", components.price_edit, name="price_edit"),
    path("suppliers/", components.suppliers, name="suppliers"),
    path("suppliers/add/", components.supplier_edit, name="supplier_add"),
    path("suppliers/<int:pk>/", components.supplier_edit, name="supplier_edit"),
    path("purchases/", purchases.purchases, name="purchases"),
    path("purchases/lines/", purchases.purchase_lines, name="purchase_lines"),
    path("purchases/add/", purchases.purchase_edit, name="purchase_add"),
    path("purchases/<int:pk>/", purchases.purchase, name="purchase"),
    path("purchases/<int:pk>/change/", purchases.purchase_edit, name="purchase_edit"),
    path("conversions/", stock.conversions, name="conversions"),
    path("conversions/add/", stock.conversion_edit, name="conversion_add"),
    path("conversions/<int:pk>/", stock.conversion_edit, name="conversion_edit"),
    path("left-over/", stock.left_over, name="left_over"),
    path("left-over/add/", stock.left_over_edit, name="left_over_add"),
    path("left-over/<int:pk>/", stock.left_over_edit, name="left_over_edit"),
    path("tasks/", labour.tasks, name="tasks"),
    path("tasks/add/", labour.task_edit, name="task_add"),
    path("tasks/<int:pk>/", labour.task_edit, name="task_edit"),
    path("hours/", labour.labour, name="labour"),
    path("hours/add/", labour.labour_edit, name="labour_add"),
    path("hours/<int:pk>/", labour.labour_edit, name="labour_edit"),
    path("delete/<slug:kind>/<int:pk>/", records.record_delete, name="record_delete"),
    path("history/", records.history, name="history"),
    path("history/<int:pk>/", records.change, name="change"),
    path("history/<int:pk>/undo/", records.change_undo, name="change_undo"),
    path("workbook/", files.upload, name="upload"),
    path("workbook/download/", files.download, name="download"),
]

urlpatterns = [
    path("", builds.builds, name="builds"),
    path("sign-in/", LoginView.as_view(template_name="sign_in.html"), name="sign_in"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("builds/add/", builds.build_add, name="build_add"),
    path("builds/read/", files.upload_new, name="upload_new"),
    path("builds/<int:build_id>/", include(_build)),
]
