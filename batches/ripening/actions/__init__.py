"""Every write about rooms and what is in them: one function, one transaction."""

from batches.ripening.actions.care import care_give, rhythm_set, weigh
from batches.ripening.actions.climate import ChannelSaid, logs_add, room_read
from batches.ripening.actions.place import batch_place

__all__ = ["ChannelSaid", "batch_place", "care_give", "logs_add", "rhythm_set", "room_read", "weigh"]
