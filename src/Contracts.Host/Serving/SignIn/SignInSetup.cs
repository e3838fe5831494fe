using System.Net;
using System.Threading.RateLimiting;
using Contracts.Store;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.RateLimiting;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Signing in, for the host that is built: programs by a key, people by a cookie.</summary>
public static class SignInSetup
{
    /// <summary>The limit of attempts to sign in.</summary>
    public const string Attempts = "attempts";

    /// <summary>What looks at a request and takes the key where there is one, and else the cookie.</summary>
    private const string Either = "either";

    private const UnixFileMode OwnFolder = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;

    public static void Add(WebApplicationBuilder builder, SignInSettings settings)
    {
        var services = builder.Services;
        services.AddSingleton(settings);
        services.AddSingleton<Passwords>();
        services.AddSingleton<FirstRun>();
        services.AddSingleton<PageReads>();
        services.AddScoped<PageNonce>();
        var ways = services.AddAuthentication(Either)
            .AddPolicyScheme(Either, null, options => options.ForwardDefaultSelector = context => KeyHandler.HasKey(context.Request) ? KeyHandler.Way : PersonSession.Way)
            .AddScheme<AuthenticationSchemeOptions, KeyHandler>(KeyHandler.Way, null)
            .AddCookie(PersonSession.Way, options => PersonSession.Set(options, settings));
        if (settings.OpenId is { } provider) { OpenId.Add(ways, provider, settings.Secure); }

        // What nobody thought of is closed.
        services.AddAuthorizationBuilder().SetFallbackPolicy(new AuthorizationPolicyBuilder().RequireAuthenticatedUser().Build());
        services.AddSingleton<IAuthorizationMiddlewareResultHandler, DoorKeeper>();
        services.AddAntiforgery(options =>
        {
            options.HeaderName = FormGuard.Header;
            options.Cookie.Name = settings.Secure ? "__Host-contracts-form" : "contracts-form";
            options.Cookie.Path = "/";
            options.Cookie.SameSite = SameSiteMode.Strict;
            options.Cookie.SecurePolicy = settings.Secure ? CookieSecurePolicy.Always : CookieSecurePolicy.None;
            options.SuppressXFrameOptionsHeader = true;
        });
        services.Configure<RateLimiterOptions>(limits => limits.AddPolicy(Attempts, context => RateLimitPartition.GetTokenBucketLimiter(
            context.Connection.RemoteIpAddress ?? IPAddress.None,
            _ => new TokenBucketRateLimiterOptions
            {
                TokenLimit = settings.AttemptsPerMinute, TokensPerPeriod = settings.AttemptsPerMinute, ReplenishmentPeriod = TimeSpan.FromMinutes(1), QueueLimit = 0,
            })));
        Keep(builder, settings.KeyFolder);
    }

    /// <summary>The parts of signing in that a request goes through before its endpoint.</summary>
    public static void Use(WebApplication app)
    {
        app.UseAuthentication();
        app.UseAuthorization();
        app.Use(FormGuard.GuardAsync);
        app.UseAntiforgery();
    }

    public static void Map(WebApplication app)
    {
        SignInPages.Map(app, app.Services.GetRequiredService<SignInSettings>());
        FirstRunPages.Map(app);
    }

    /// <summary>The keys that seal cookies: beside the signer's, apart from the database, and for their owner's eyes only.</summary>
    private static void Keep(WebApplicationBuilder builder, string? folder)
    {
        var keys = builder.Services.AddDataProtection().SetApplicationName("contracts");
        if (folder is null)
        {
            keys.UseEphemeralDataProtectionProvider();
            return;
        }

        // They lie unencrypted where nobody else may look, like the signer's key; the framework would say so at every start.
        builder.Logging.AddFilter("Microsoft.AspNetCore.DataProtection", LogLevel.Error);
        if (OperatingSystem.IsWindows()) { Directory.CreateDirectory(folder); }
        else
        {
            Directory.CreateDirectory(folder, OwnFolder);
            if ((File.GetUnixFileMode(folder) & ~OwnFolder) != 0)
            {
                throw new StoreException($"Others than its owner may use {folder}; whoever reads the keys in it signs in as anybody. Set its mode to 700.");
            }
        }

        keys.PersistKeysToFileSystem(new DirectoryInfo(folder));
    }
}
