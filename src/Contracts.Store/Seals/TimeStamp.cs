using NodaTime;

namespace Contracts.Store.Seals;

/// <summary>What a time stamp by somebody else says (RFC 3161): these bytes existed by then.</summary>
/// <param name="At">The time in the token.</param>
/// <param name="Authority">The subject of the certificate that signed it.</param>
/// <param name="Policy">The authority's policy, an object identifier.</param>
/// <param name="IsRooted">Whether the certificate leads to a root that was given; without one only the token itself was checked.</param>
public sealed record TimeStamp(Instant At, string Authority, string Policy, bool IsRooted);

/// <summary>What is wrong with a time stamp; the words are public and stable (docs/audit.md).</summary>
public sealed record StampFault(string Code, string Detail);
