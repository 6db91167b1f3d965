package words

// NobodyTold is what every output of a house without mail says.
const NobodyTold = "This house sends no mail: NOBODY IS BEING TOLD."
