using NodaTime;

namespace Contracts.Books;

/// <summary>A unit changes place on a day: out to a family, back, sold, lost, or found again.</summary>
/// <param name="Serial">The serial number the contract named. A swap's unit goes under the number it replaced.</param>
/// <param name="Cost">What it cost the shop, or null when nobody said.</param>
/// <param name="On">The day.</param>
/// <param name="Movement">Placed, BackInStore, Sold, Lost or Found.</param>
public sealed record UnitMove(string Serial, Money? Cost, LocalDate On, Movement Movement);
