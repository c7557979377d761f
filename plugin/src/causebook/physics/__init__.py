"""What is true of air, gas, metal and wire: pure relations on quantities, from published standards."""
