namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// The roles in which somebody uses the host. A role is a claim (<see cref="Claim"/>) of whoever signs in, by a key as by any
/// other way; what each may do is one table.
/// </summary>
public static class Roles
{
    /// <summary>The claim that holds the role.</summary>
    public const string Claim = "role";

    /// <summary>The claim that holds the name that is recorded.</summary>
    public const string NameClaim = "name";

    /// <summary>Signs, takes money, hands out instruments.</summary>
    public const string Counter = "counter";

    /// <summary>The counter's work, and what gives money away or changes the programme.</summary>
    public const string Manager = "manager";

    /// <summary>Answers families: reads and hands out papers.</summary>
    public const string Support = "support";

    /// <summary>Reads everything, for the law's sake, and hands out dossiers.</summary>
    public const string Compliance = "compliance";

    /// <summary>The books: bills and closes months.</summary>
    public const string Finance = "finance";

    /// <summary>Reads figures and histories; no paper and nothing else that shows a household.</summary>
    public const string Developer = "developer";

    /// <summary>Reads everything and sends no command.</summary>
    public const string Auditor = "auditor";

    /// <summary>Every role.</summary>
    public static IReadOnlyList<string> All { get; } = [Counter, Manager, Support, Compliance, Finance, Developer, Auditor];
}
