"""What can be known of a procedure before anybody walks it: findings and rehearsals. Pure."""
