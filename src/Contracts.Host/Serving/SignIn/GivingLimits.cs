namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// How much a role gives away alone on one contract: goodwill and waived fees together, of thirty days, whoever gave it. Above that it takes a second person.
/// A shop's own rule; the usual amounts are common practice, no source.
/// </summary>
/// <param name="Counter">The counter's.</param>
/// <param name="Support">Support's.</param>
/// <param name="Manager">A manager's, who also gives money back up to this much at a time.</param>
public sealed record GivingLimits(Money Counter, Money Support, Money Manager)
{
    /// <summary>How many days count together.</summary>
    public const int Days = 30;

    /// <summary>Where the shop sets no others.</summary>
    public static GivingLimits Usual { get; } = new(Money.Zero, new Money(1000), new Money(5000));

    /// <summary>The limit of a role; nothing for one that gives nothing away.</summary>
    public Money For(string role) => role switch
    {
        Roles.Counter => Counter,
        Roles.Support => Support,
        Roles.Manager => Manager,
        _ => Money.Zero,
    };

    /// <summary>The same with one limit read from a role and an amount such as <c>support=10.00</c>, or null where it is no such thing.</summary>
    public GivingLimits? With(string text)
    {
        var parts = text.Split('=', 2);
        if (parts.Length < 2 || !Money.TryParse(parts[1], out var amount) || amount < Money.Zero) { return null; }
        return parts[0] switch
        {
            Roles.Counter => this with { Counter = amount },
            Roles.Support => this with { Support = amount },
            Roles.Manager => this with { Manager = amount },
            _ => null,
        };
    }
}
