"""The climate of ripening rooms: humidity, days in brief, and days on which nobody came."""
