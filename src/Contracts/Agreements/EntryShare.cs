namespace Contracts.Agreements;

/// <summary>A part of the amount of a bank's line and the contract it is paid on.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Amount">How much of the line.</param>
public sealed record EntryShare(string Contract, Money Amount);
