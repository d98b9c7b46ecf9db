// Every page works without this: scripts only add comfort.
export {};
