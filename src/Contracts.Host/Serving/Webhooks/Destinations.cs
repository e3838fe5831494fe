using System.Net;
using System.Net.Sockets;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>
/// Where messages may go. Who can name an address must not get this host to talk to what only this host can reach, so a name counts by the
/// addresses that it leads to, and they are looked at again at each connection.
/// </summary>
public static class Destinations
{
    private const int LongestUrl = 2000;

    // What is no address of somebody out there (IANA's special-purpose registry of IPv4).
    private static readonly IPNetwork[] Special =
    [
        IPNetwork.Parse("0.0.0.0/8"), IPNetwork.Parse("10.0.0.0/8"), IPNetwork.Parse("100.64.0.0/10"), IPNetwork.Parse("127.0.0.0/8"),
        IPNetwork.Parse("169.254.0.0/16"), IPNetwork.Parse("172.16.0.0/12"), IPNetwork.Parse("192.0.0.0/24"), IPNetwork.Parse("192.0.2.0/24"),
        IPNetwork.Parse("192.88.99.0/24"), IPNetwork.Parse("192.168.0.0/16"), IPNetwork.Parse("198.18.0.0/15"), IPNetwork.Parse("198.51.100.0/24"),
        IPNetwork.Parse("203.0.113.0/24"), IPNetwork.Parse("224.0.0.0/4"), IPNetwork.Parse("240.0.0.0/4"),
    ];

    // Of IPv6 one block is given out; in it, these are for other things (Teredo and the like, documentation, 6to4).
    private static readonly IPNetwork Given = IPNetwork.Parse("2000::/3");
    private static readonly IPNetwork[] SpecialOfSix = [IPNetwork.Parse("2001::/23"), IPNetwork.Parse("2001:db8::/32"), IPNetwork.Parse("2002::/16"), IPNetwork.Parse("3fff::/20")];
    private static readonly IPNetwork Translated = IPNetwork.Parse("64:ff9b::/96");

    /// <summary>Why an address cannot be told anything, or null.</summary>
    public static string? Against(string text, out Uri url)
    {
        if (!Uri.TryCreate(text, UriKind.Absolute, out url!) || text.Length > LongestUrl) { return "The address is no URL such as https://example.org/events."; }
        if (!(url.Scheme == Uri.UriSchemeHttps || (url.Scheme == Uri.UriSchemeHttp && url.IsLoopback)))
        {
            return "The address must be https; http is taken for this machine itself (127.0.0.1) only.";
        }

        if (url.UserInfo.Length > 0) { return "The address must have no name and password in it."; }
        return url.Fragment.Length > 0 ? "The address must have no fragment (#)." : null;
    }

    /// <summary>Whether a host's own spelling says that it is this machine.</summary>
    public static bool IsThisMachine(string host) => host == "localhost" || (IPAddress.TryParse(host.Trim('[', ']'), out var address) && IPAddress.IsLoopback(Plain(address)));

    /// <summary>Whether a connection may be made.</summary>
    /// <param name="host">The host as the URL spells it.</param>
    /// <param name="address">What it leads to.</param>
    /// <param name="allowPrivate">Whether private networks were allowed.</param>
    public static bool Allows(string host, IPAddress address, bool allowPrivate)
    {
        address = Plain(address);
        if (IsThisMachine(host)) { return IPAddress.IsLoopback(address); }
        return IsPublic(address) || (allowPrivate && IsOneMachine(address));
    }

    /// <summary>The addresses of a host that a connection may be made to; an exception where there is none.</summary>
    /// <exception cref="ForbiddenDestinationException">The host leads to addresses that are not allowed only.</exception>
    public static async Task<IReadOnlyList<IPAddress>> ResolveAsync(string host, bool allowPrivate, CancellationToken stop)
    {
        var all = IPAddress.TryParse(host.Trim('[', ']'), out var one) ? [one] : await Dns.GetHostAddressesAsync(host, stop).ConfigureAwait(false);
        var allowed = all.Where(address => Allows(host, address, allowPrivate)).ToList();
        // A name that leads to both is somebody trying: nothing of it is used.
        return allowed.Count == all.Length && allowed.Count > 0 ? allowed : throw new ForbiddenDestinationException(host);
    }

    /// <summary>An address of the network at large.</summary>
    public static bool IsPublic(IPAddress address)
    {
        address = Plain(address);
        return address.AddressFamily == AddressFamily.InterNetwork
            ? !Special.Any(network => network.Contains(address))
            : Given.Contains(address) && !SpecialOfSix.Any(network => network.Contains(address));
    }

    private static bool IsOneMachine(IPAddress address) =>
        address is { IsIPv6Multicast: false } && !address.Equals(IPAddress.Any) && !address.Equals(IPAddress.IPv6Any)
        && !(address.AddressFamily == AddressFamily.InterNetwork && address.GetAddressBytes()[0] is 0 or >= 224);

    /// <summary>The IPv4 address that an IPv6 one stands for, where it does.</summary>
    private static IPAddress Plain(IPAddress address) =>
        address.IsIPv4MappedToIPv6 ? address.MapToIPv4()
        : address.AddressFamily == AddressFamily.InterNetworkV6 && Translated.Contains(address) ? new IPAddress(address.GetAddressBytes().AsSpan(12)) : address;
}

/// <summary>A host leads to addresses that nothing may be sent to.</summary>
public sealed class ForbiddenDestinationException(string host)
    : Exception($"{host} leads to an address of a private network or of this machine; --allow-private takes it when it is meant.");
