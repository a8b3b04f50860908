"""Addresses of the shelf and of the messages of units."""

from django.urls import path

from clinic.views import stock

urlpatterns = [
    path("upkeep/stock/", stock.stock, name="stock"),
    path("upkeep/stock/lines/", stock.stock_lines, name="stock_lines"),
    path("upkeep/messages/", stock.unit_messages, name="unit_messages"),
]
