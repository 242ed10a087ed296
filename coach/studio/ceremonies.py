"""The two ceremonies of passkeys: one is made, one is used.

References:
    W3C Web Authentication, Level 3: sections 7.1 and 7.2 are what the library ``webauthn`` checks. Passkeys are
    discoverable (section 6.2.2), so nobody types a name to sign in; whether the authenticator sees that it is its owner
    who uses it is preferred, not required.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coach.errors import InputError
from coach.studio.passkeys import Passkey
from coach.studio.people import Person

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["Party", "challenge_of", "credential_of", "made", "options_to_make", "options_to_use", "used"]


@dataclass(frozen=True, slots=True)
class Party:
    """The service, as authenticators know it.

    Attributes:
        host: its name without port, the "relying party identifier".
        origin: of its pages.
    """

    host: str
    origin: str


def options_to_make(party: Party, person: Person, challenge: bytes, have: Iterable[Passkey]) -> dict[str, Any]:
    """What a browser is given to make a passkey, as plain values of its JSON form.

    Args:
        party: the service.
        person: for whom.
        challenge: random, for once.
        have: passkeys of theirs that are not to be made again.

    Raises:
        InputError: when the service is called by a number: passkeys belong to names.
    """
    from webauthn import generate_registration_options, options_to_json
    from webauthn.helpers.structs import (
        AuthenticatorSelectionCriteria,
        PublicKeyCredentialDescriptor,
        ResidentKeyRequirement,
        UserVerificationRequirement,
    )

    if party.host.replace(".", "").isdecimal() or ":" in party.host:
        raise InputError("passkeys need a service that has a name", cure="set a password, or open it as localhost")
    options = generate_registration_options(
        rp_id=party.host,
        rp_name=person.studio.name,
        user_id=person.id.encode(),
        user_name=person.name,
        user_display_name=person.name,
        challenge=challenge,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=UserVerificationRequirement.PREFERRED
        ),
        exclude_credentials=[PublicKeyCredentialDescriptor(id=each.credential) for each in have],
    )
    plain: dict[str, Any] = json.loads(options_to_json(options))
    return plain


def made(party: Party, credential: Mapping[str, Any], challenge: bytes) -> tuple[bytes, bytes, int]:
    """The id, public key and counter of a passkey that was made.

    Raises:
        InputError: when it was made for something else, or cannot be read.
    """
    from webauthn import verify_registration_response
    from webauthn.helpers.exceptions import WebAuthnException

    try:
        checked = verify_registration_response(
            credential=dict(credential),
            expected_challenge=challenge,
            expected_rp_id=party.host,
            expected_origin=party.origin,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError("this passkey cannot be taken", cure="try again, or set a password") from error
    return checked.credential_id, checked.credential_public_key, checked.sign_count


def options_to_use(party: Party, challenge: bytes) -> dict[str, Any]:
    """What a browser is given to use a passkey, whichever its owner chooses, as plain values of its JSON form."""
    from webauthn import generate_authentication_options, options_to_json

    plain: dict[str, Any] = json.loads(
        options_to_json(generate_authentication_options(rp_id=party.host, challenge=challenge))
    )
    return plain


def challenge_of(credential: Mapping[str, Any]) -> bytes:
    """For which challenge a credential says that it is; empty where it says nothing that can be read. It is checked
    when it is used."""
    from webauthn.helpers import base64url_to_bytes

    try:
        client = json.loads(base64url_to_bytes(credential["response"]["clientDataJSON"]))
        return base64url_to_bytes(client["challenge"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return b""


def credential_of(credential: Mapping[str, Any]) -> bytes:
    """The id of a credential; empty where it cannot be read."""
    from webauthn.helpers import base64url_to_bytes

    try:
        return base64url_to_bytes(credential["rawId"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return b""


def used(party: Party, credential: Mapping[str, Any], challenge: bytes, passkey: Passkey) -> int:
    """The counter of a passkey that was used.

    Raises:
        InputError: when it was not this passkey, or for something else.
    """
    from webauthn import verify_authentication_response
    from webauthn.helpers.exceptions import WebAuthnException

    try:
        checked = verify_authentication_response(
            credential=dict(credential),
            expected_challenge=challenge,
            expected_rp_id=party.host,
            expected_origin=party.origin,
            credential_public_key=passkey.public_key,
            credential_current_sign_count=passkey.count,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError("this passkey does not open anything here", cure="try another, or your password") from error
    return checked.new_sign_count
