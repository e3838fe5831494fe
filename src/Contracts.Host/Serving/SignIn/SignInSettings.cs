using Contracts.Host.Terminal;

namespace Contracts.Host.Serving.SignIn;

/// <summary>How people get into a host.</summary>
public sealed record SignInSettings
{
    /// <summary>Whether browsers reach the host by https; only plain http on a loopback address goes without.</summary>
    public bool Secure { get; init; }

    /// <summary>Where the keys of cookies lie; without a folder they last as long as the process.</summary>
    public string? KeyFolder { get; init; }

    /// <summary>Whether a role may be picked without a password, because everything in the store is invented.</summary>
    public bool Demo { get; init; }

    /// <summary>How many attempts to sign in one address has a minute.</summary>
    public int AttemptsPerMinute { get; init; } = 20;

    /// <summary>Who else says who somebody is, or null.</summary>
    public OpenIdSettings? OpenId { get; init; }
}

/// <summary>A provider of OpenID Connect.</summary>
/// <param name="Authority">Its address.</param>
/// <param name="Client">What this host is called there.</param>
/// <param name="Secret">What this host proves itself with, or null.</param>
/// <param name="RoleClaim">The claim that holds one of the roles of this host.</param>
public sealed record OpenIdSettings(Uri Authority, string Client, string? Secret, string RoleClaim)
{
    /// <summary>What the variables say, or null where no authority is named.</summary>
    public static OpenIdSettings? Read(Func<string, string?> variable)
    {
        if (variable("CONTRACTS_OIDC_AUTHORITY") is not { Length: > 0 } authority) { return null; }
        if (!Uri.TryCreate(authority, UriKind.Absolute, out var uri) || !(uri.Scheme == "https" || (uri.Scheme == "http" && uri.IsLoopback)))
        {
            throw new UsageException("CONTRACTS_OIDC_AUTHORITY is an https address.");
        }

        return variable("CONTRACTS_OIDC_CLIENT") is { Length: > 0 } client
            ? new OpenIdSettings(uri, client, Blank(variable("CONTRACTS_OIDC_SECRET")), Blank(variable("CONTRACTS_OIDC_ROLE_CLAIM")) ?? Roles.Claim)
            : throw new UsageException("CONTRACTS_OIDC_AUTHORITY needs CONTRACTS_OIDC_CLIENT beside it.");

        static string? Blank(string? text) => string.IsNullOrEmpty(text) ? null : text;
    }
}
