using System.CommandLine;
using Contracts.Host.Terminal;

namespace Contracts.Host.Serving.SignIn;

/// <summary>`contracts user`: the people who sign in to the host.</summary>
public static class UserCommand
{
    public static Command Build() => new("user", "People: let one in, list them, shut one out, set a password.") { Add(), List(), Disable(), Password() };

    private static Command Add()
    {
        var (name, read, by) = (Name(), Read(), By("Who lets them in."));
        var role = new Option<string>("--role") { Description = $"What they may do, for good: {string.Join(", ", Roles.All)}.", Required = true };
        role.AcceptOnlyFromAmong([.. Roles.All]);
        var command = new Command("add", "Let somebody in. A password is made and printed, once, unless one is read.") { name, role, read, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var who = parse.GetRequiredValue(name);
                if (Passwords.AgainstName(who) is { } noName) { throw new UsageException(noName.Says); }
                var (password, isMade) = await ChooseAsync(parse.GetValue(read), who, stop);
                var role1 = parse.GetRequiredValue(role);
                if (!await session.Store.People.AddAsync(who, role1, new Passwords().Hash(password), parse.GetValue(by) ?? Environment.UserName, stop))
                {
                    throw new UsageException($"There is a {who} already, or was one; names are given once.");
                }

                await TellAsync($"{who} signs in as {role1}.", password, isMade);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Password()
    {
        var (name, read, by) = (Name(), Read(), By("Who sets it."));
        var command = new Command("password", "Set another password; sessions that began with the old one end. One is made and printed, once, unless one is read.")
        {
            name, read, by,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var who = parse.GetRequiredValue(name);
                var (password, isMade) = await ChooseAsync(parse.GetValue(read), who, stop);
                if (!await session.Store.People.SetPasswordAsync(who, new Passwords().Hash(password), parse.GetValue(by) ?? Environment.UserName, stop)) { throw Nobody(who); }
                await TellAsync($"{who} has another password.", password, isMade);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Disable()
    {
        var (name, by) = (Name(), By("Who shuts them out."));
        var command = new Command("disable", "Shut somebody out for good, from their next request on.") { name, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var who = parse.GetRequiredValue(name);
                if (!await session.Store.People.DisableAsync(who, parse.GetValue(by) ?? Environment.UserName, stop)) { throw Nobody(who); }
                await Console.Error.WriteLineAsync($"{who} is out.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command List()
    {
        var command = new Command("list", "Everybody who was ever let in: in which role, when, by whom; never a password.");
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                UserPrinter.Print(await session.Store.People.ListAsync(stop), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Argument<string> Name() => new("name") { Description = "Their name, as it is recorded with everything they look at and send." };

    private static Option<bool> Read() => new("--read-password") { Description = "Read the password from the first line of standard input." };

    private static Option<string?> By(string description) => new("--by") { Description = description };

    private static UsageException Nobody(string name) => new($"There is no {name}; `contracts user list` shows who there is.");

    private static async Task<(string Password, bool IsMade)> ChooseAsync(bool read, string name, CancellationToken stop)
    {
        if (!read) { return (Passwords.Make(), true); }
        var given = await Console.In.ReadLineAsync(stop) ?? "";
        return Passwords.Against(given, name) is { } unfit ? throw new UsageException(unfit.Says) : (given, false);
    }

    /// <summary>The password alone goes to standard output, so that it can be handed on without being seen.</summary>
    private static async Task TellAsync(string done, string password, bool isMade)
    {
        if (isMade) { Console.Out.WriteLine(password); }
        await Console.Error.WriteLineAsync(isMade ? $"{done} The password is not shown again." : done);
    }
}
