using System.CommandLine;
using Contracts.Host.Jobs;
using Contracts.Host.Sealing;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Serving.Webhooks;
using Contracts.Host.Story;
using Contracts.Host.Terminal;
using NodaTime.Text;
using Wolverine;

namespace Contracts.Host.Serving;

/// <summary>`contracts serve`: the host with its API and its durable queues.</summary>
public static class ServeCommand
{
    private static readonly LocalTimePattern TimeOfDay = LocalTimePattern.CreateWithInvariantCulture("HH':'mm");

    private const string UsualUrl = "http://127.0.0.1:5080";

    public static Command Build()
    {
        var behindProxy = new Option<bool>("--behind-proxy")
        {
            Description = "A proxy with https stands in front, and nobody else reaches the port: it is believed who is behind it.",
        };
        var urls = new Option<string>("--urls")
        {
            Description = "Where to listen; another address than a loopback one needs https or --behind-proxy.",
            DefaultValueFactory = _ => UsualUrl,
        };
        var certificate = new Option<string?>("--certificate") { Description = "The certificate for https, in PEM, with those behind it that lead to its root." };
        var certificateKey = new Option<string?>("--certificate-key") { Description = "Its private key, in PEM; in the file of the certificate when left out." };
        var rate = new Option<int>("--rate")
        {
            Description = "How many requests a second one address may send on average.", DefaultValueFactory = _ => new ApiSettings().RequestsPerSecond,
        };
        rate.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() < 1) { result.AddError("--rate is a number above 0."); }
        });
        var seconds = new Option<int>("--time-limit")
        {
            Description = "How many seconds a request may take.", DefaultValueFactory = _ => (int)new ApiSettings().Longest.TotalSeconds,
        };
        seconds.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() < 1) { result.AddError("--time-limit is a number above 0."); }
        });
        var demo = new Option<bool>("--demo")
        {
            Description = "Show the invented year of `contracts demo`: anybody on this machine picks a role and looks around, without a password.",
        };
        var alone = new Option<string[]>("--two-persons-above")
        {
            Description = "Above how many dollars in thirty days on one contract goodwill and waivers of a role take a second person, such as support=10.00; "
                + "may be given for counter, support and manager, whose limit is for a refund too.",
        };
        alone.Validators.Add(result =>
        {
            if (Limits(result.GetValueOrDefault<string[]?>()) is null) { result.AddError("--two-persons-above is a role and an amount such as support=10.00."); }
        });
        var clock = new Option<string?>("--clock")
        {
            Description = "Run the jobs of the day (contracts jobs) each day at this time of the shop, such as 03:10; without it this host runs none.",
        };
        clock.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<string?>() is { } given && !TimeOfDay.Parse(given).Success) { result.AddError("--clock is a time such as 03:10."); }
        });
        var command = new Command("serve", "Run the host: the API under /v1 with keys of `contracts key new`, pages with people of `contracts user add`.")
        {
            urls, behindProxy, certificate, certificateKey, rate, seconds, alone, clock, demo, CommonOptions.SimulatedClock,
        };
        command.Validators.Add(result =>
        {
            // A command is looked at before its options have their defaults.
            if (!Uri.TryCreate(result.GetValue(urls) ?? UsualUrl, UriKind.Absolute, out var url) || url.Scheme is not ("http" or "https"))
            {
                result.AddError("--urls takes one address such as http://127.0.0.1:5080.");
            }
            else if (!url.IsLoopback && url.Scheme != "https" && !result.GetValue(behindProxy))
            {
                result.AddError(
                    "Keys and figures would go over the network unprotected: --urls takes https or a loopback address, or --behind-proxy says that a "
                    + "proxy with https stands in front.");
            }
            else if (result.GetValue(certificate) is null ? result.GetValue(certificateKey) is not null : url.Scheme != "https")
            {
                result.AddError("--certificate is for an https address, and --certificate-key goes with it.");
            }
            else if (result.GetValue(clock) is not null && (result.GetValue(demo) || result.GetValue(CommonOptions.SimulatedClock)))
            {
                result.AddError("--clock goes by the real time: not with --demo or --simulated-clock, where `contracts jobs run --through` lets days pass.");
            }
            else if (result.GetValue(demo) && (!url.IsLoopback || result.GetValue(behindProxy)))
            {
                result.AddError("--demo lets people in without a password: it listens on a loopback address only, and behind no proxy.");
            }
        });
        command.SetAction((parse, stop) => ServeAsync(
            parse, new Uri(parse.GetRequiredValue(urls)), parse.GetValue(demo), (parse.GetValue(certificate), parse.GetValue(certificateKey)),
            new ApiSettings
            {
                BehindProxy = parse.GetValue(behindProxy), RequestsPerSecond = parse.GetValue(rate), Burst = parse.GetValue(rate) * 4,
                Longest = TimeSpan.FromSeconds(parse.GetValue(seconds)),
                Giving = Limits(parse.GetValue(alone))!,
                Clock = parse.GetValue(clock) is { } time ? TimeOfDay.Parse(time).Value : null,
            },
            stop));
        return command;
    }

    /// <summary>The usual limits with those that were given, or null where one cannot be read.</summary>
    private static GivingLimits? Limits(string[]? given) =>
        (given ?? []).Aggregate((GivingLimits?)GivingLimits.Usual, static (limits, text) => limits?.With(text));

    private static async Task<int> ServeAsync(
        ParseResult parse, Uri url, bool demo, (string? Own, string? Key) certificate, ApiSettings settings, CancellationToken stop)
    {
        var signIn = new SignInSettings
        {
            Secure = url.Scheme == "https" || settings.BehindProxy, KeyFolder = Connections.CookieKeys(parse, demo), Demo = demo,
            OpenId = demo ? null : OpenIdSettings.Read(Environment.GetEnvironmentVariable),
        };
        return demo
            ? await Session.RunAsync(() => DemoCommand.OpenStandingAsync(parse, stop), ServeAsync)
            : await Session.RunAsync(parse, parse.GetValue(CommonOptions.SimulatedClock), ServeAsync, stop);

        async Task<int> ServeAsync(Session session)
        {
            if (session.Store.IsGuarded) { await MessageTables.EnsureAsync(session.Store.Connection, stop); }
            var builder = ContractsHost.Builder(session.Store, session.Store.Connection.Everyday, settings with { Signer = session.Signer }, signIn);
            builder.WebHost.UseUrls(url.OriginalString);
            if (certificate.Own is { } own) { ServerCertificate.Use(builder, own, certificate.Key); }
            builder.Services.AddSingleton<IHostedService>(services => new BackgroundSealing(
                session.Store, session.Signer, services.GetRequiredService<ILogger<BackgroundSealing>>()));
            builder.Services.AddSingleton<IHostedService>(services => new BackgroundWebhooks(
                session.Store, TimeProvider.System, services.GetRequiredService<ILogger<BackgroundWebhooks>>()));
            await using var app = builder.Build();
            ContractsHost.Map(app);
            await app.StartAsync(stop);
            await Console.Error.WriteLineAsync($"listening on {url.OriginalString}; stop with Ctrl+C");
            if (demo) { await Console.Error.WriteLineAsync($"everything here is invented; look around at {new Uri(url, "/sign-in")}"); }
            else if (url.IsLoopback && !settings.BehindProxy && !await session.Store.People.AnyAsync(stop))
            {
                // Whoever reads this terminal runs the host, and on a loopback address nobody else can be sent there.
                var link = new Uri(url, app.Services.GetRequiredService<FirstRun>().Begin());
                await Console.Error.WriteLineAsync($"nobody is let in yet; the first person begins here, once: {link}");
            }

            if (settings.Clock is { } due && DaySchedule.IsPast(await session.Store.Reader.NowAsync(stop), due))
            {
                await app.Services.CreateScope().ServiceProvider.GetRequiredService<IMessageBus>().PublishAsync(new RunDay());
            }

            await app.WaitForShutdownAsync(stop);
            return ExitCodes.Done;
        }
    }
}
