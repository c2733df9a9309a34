from inputs import Model
MODELS={}
