"""Which pages are lists, with the forms that add to them?"""

from fastapi import APIRouter

from api.pages import works

LIST_PAGES: tuple[APIRouter, ...] = (works.router,)
