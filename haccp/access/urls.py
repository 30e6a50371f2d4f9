from django.urls import path

from haccp.access.views import invitations, passkeys, people, pins, security, sign_in, visitors

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
    path("visitors/", visitors.visitors, name="visitors"),
    path("visitors/<uuid:membership_id>/end/", visitors.visitor_end, name="visitor_end"),
    path("visit/<str:token>/", visitors.visit, name="visit"),
    path("hand-over/", pins.hand_over, name="hand_over"),
    path("security/", security.security, name="security"),
    path("security/pin/", pins.pin, name="pin"),
    path("security/password/", security.password_change, name="password_change"),
    path("security/authenticator/", security.authenticator, name="authenticator"),
    path("security/authenticator/off/", security.authenticator_off, name="authenticator_off"),
    path("security/passkeys/add/", passkeys.passkey_add, name="passkey_add"),
    path("security/passkeys/made/", passkeys.passkey_made, name="passkey_made"),
    path("security/passkeys/confirm/options/", passkeys.confirm_options, name="passkey_confirm_options"),
    path("security/passkeys/confirm/", passkeys.confirm, name="passkey_confirm"),
    path("security/passkeys/<uuid:passkey_id>/remove/", passkeys.passkey_remove, name="passkey_remove"),
    path("sign-in/passkey/options/", passkeys.sign_in_options, name="passkey_sign_in_options"),
    path("sign-in/passkey/", passkeys.sign_in, name="passkey_sign_in"),
    path("sign-in/code/", sign_in.code, name="code"),
    path("password/forgotten/", sign_in.password_forgotten, name="password_forgotten"),
    path("password/sent/", sign_in.password_sent, name="password_sent"),
    path("password/new/<str:uidb64>/<str:token>/", sign_in.password_new, name="password_new"),
    path("premises/add/", people.premises_add, name="premises_add"),
]
