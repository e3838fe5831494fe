namespace Contracts.Instruments;

/// <summary>An instrument as a contract names it.</summary>
/// <param name="Kind">The trade's name for it, such as clarinet.</param>
/// <param name="Serial">The serial number; at most one open contract holds it.</param>
/// <param name="Condition">new or used.</param>
/// <param name="Cost">What the shop paid for it, when known.</param>
public sealed record Instrument(string Kind, string Serial, string? Condition, Money? Cost);

/// <summary>An accessory sold with the contract: a stand, reeds, a case cover.</summary>
public sealed record Accessory(string Description, Money Price);
