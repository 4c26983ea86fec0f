"""Laws of flow, fuel, gas and sensors, in SI, with no carburetor words."""
