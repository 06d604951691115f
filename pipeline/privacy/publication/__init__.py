"""From frozen counts to a release and its ledger: what adds up, what is wanted, what was ever printed."""
