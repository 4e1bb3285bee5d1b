"""Environmental declarations (ILCD+EPD), read and written; `materials.declarations` is the front door."""
