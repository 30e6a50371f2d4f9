from django.urls import path

from haccp.notices import api

urlpatterns = [
    path("notices/", api.Notices.as_view()),
    path("notices/wishes/", api.WishesOwn.as_view()),
    path("notices/feed/", api.Feed.as_view()),
    path("notices/feed/end/", api.FeedEnded.as_view()),
    path("notices/failing/", api.Failing.as_view()),
    path("deviations/<uuid:pk>/alert/", api.AlertTaken.as_view()),
]
