namespace Contracts.Agreements;

/// <summary>A part of the amount of a bank's line, or of a family's payment, and the contract it is paid on.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="Amount">How much of it.</param>
public sealed record EntryShare(string Contract, Money Amount);
