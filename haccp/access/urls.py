from django.urls import path

from haccp.access.views import invitations, people

app_name = "access"
urlpatterns = [
    path("people/", people.people, name="people"),
    path("people/invite/", invitations.invite, name="invite"),
    path("people/leave/", people.leave, name="leave"),
    path("people/<uuid:membership_id>/", people.person, name="person"),
    path("people/<uuid:membership_id>/left/", people.person_left, name="person_left"),
    path(
        "people/invitations/<uuid:invitation_id>/withdraw/",
        invitations.invitation_withdraw,
        name="invitation_withdraw",
    ),
    path("invitation/<str:token>/", invitations.invitation, name="invitation"),
    path("premises/add/", people.premises_add, name="premises_add"),
]
