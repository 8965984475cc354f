"""From models to frozen values: what a collection and its schedules come to."""
